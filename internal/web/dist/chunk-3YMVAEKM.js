import{k as o}from"./chunk-W35D2N62.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
