import{l as o}from"./chunk-CYZOG7XG.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
