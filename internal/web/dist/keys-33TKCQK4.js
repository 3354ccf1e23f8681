import{h as a,i as b,j as c}from"./chunk-SJFZ424I.js";import"./chunk-LDX645EJ.js";import"./chunk-OOD23W62.js";import"./chunk-UNYVA74V.js";export{a as KeyField,b as Keys,c as ValuesView};
