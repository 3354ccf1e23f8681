import{h as a,i as b,j as c}from"./chunk-AEGHCZJA.js";import"./chunk-EH7FXKSJ.js";import"./chunk-OQE45MFJ.js";import"./chunk-GRL6RCP4.js";export{a as KeyField,b as Keys,c as ValuesView};
