import{l as o}from"./chunk-UNYVA74V.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
