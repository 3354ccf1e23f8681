import{g as a,h as b,i as c}from"./chunk-RP35KIPE.js";import"./chunk-BMYSRTPP.js";import"./chunk-U6ID7CSU.js";export{a as KeyField,b as Keys,c as ValuesView};
