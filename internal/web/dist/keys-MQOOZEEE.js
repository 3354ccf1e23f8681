import{g as a,h as b,i as c}from"./chunk-I7P6BPGP.js";import"./chunk-QVG57PKU.js";import"./chunk-77DKTIK3.js";export{a as KeyField,b as Keys,c as ValuesView};
