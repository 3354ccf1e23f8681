import{h as a,i as b,j as c}from"./chunk-3JDZ4OEY.js";import"./chunk-3YMVAEKM.js";import"./chunk-W35D2N62.js";export{a as KeyField,b as Keys,c as ValuesView};
