import{k as o}from"./chunk-U6ID7CSU.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
