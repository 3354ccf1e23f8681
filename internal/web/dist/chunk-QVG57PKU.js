import{k as o}from"./chunk-77DKTIK3.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
