import{k as o}from"./chunk-3V34JD3W.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
