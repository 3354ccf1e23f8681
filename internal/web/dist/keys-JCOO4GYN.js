import{h as a,i as b,j as c}from"./chunk-PXKWKGYN.js";import"./chunk-MX5Q72YH.js";import"./chunk-HATF6X2Y.js";export{a as KeyField,b as Keys,c as ValuesView};
