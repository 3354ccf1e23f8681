import{k as o}from"./chunk-GNIEW3NR.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
