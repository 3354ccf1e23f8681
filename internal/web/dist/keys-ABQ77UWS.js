import{h as a,i as b,j as c}from"./chunk-CTIPR5TX.js";import"./chunk-EH7FXKSJ.js";import"./chunk-NXIC5X7I.js";import"./chunk-GRL6RCP4.js";export{a as KeyField,b as Keys,c as ValuesView};
