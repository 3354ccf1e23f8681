import{g as a,h as b,i as c}from"./chunk-CUA73ZTE.js";import"./chunk-OJN3X7N6.js";import"./chunk-GNIEW3NR.js";export{a as KeyField,b as Keys,c as ValuesView};
