import{g as a,h as b,i as c}from"./chunk-7SLT3ILU.js";import"./chunk-2HVGY7US.js";import"./chunk-LBHJVOXY.js";export{a as KeyField,b as Keys,c as ValuesView};
