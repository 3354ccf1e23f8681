import{k as o}from"./chunk-GRL6RCP4.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
