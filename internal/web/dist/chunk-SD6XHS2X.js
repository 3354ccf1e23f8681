import{l as o}from"./chunk-APWWN43C.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
