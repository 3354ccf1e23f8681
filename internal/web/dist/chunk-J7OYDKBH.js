import{l as o}from"./chunk-5VRMSRR7.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
