import{h as a,i as b,j as c}from"./chunk-5D7J5RIK.js";import"./chunk-7GY4HGG5.js";import"./chunk-3V34JD3W.js";export{a as KeyField,b as Keys,c as ValuesView};
