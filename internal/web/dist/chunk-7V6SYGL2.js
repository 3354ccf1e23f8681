import{l as o}from"./chunk-RIYED5F3.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
