import{l as o}from"./chunk-YKYC63F2.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
