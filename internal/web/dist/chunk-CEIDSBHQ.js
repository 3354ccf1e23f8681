import{l as o}from"./chunk-EER5MOMJ.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
