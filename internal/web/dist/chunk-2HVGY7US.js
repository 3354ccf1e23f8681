import{k as o}from"./chunk-LBHJVOXY.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
