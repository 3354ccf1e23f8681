import{l as o}from"./chunk-J5NZYL75.js";var n=o(""),t=i=>{n.value=i};export{n as a,t as b};
