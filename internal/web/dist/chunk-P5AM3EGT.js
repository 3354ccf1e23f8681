import{l as o}from"./chunk-INT457A7.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
