import{k as o}from"./chunk-HATF6X2Y.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
