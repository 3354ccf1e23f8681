import{h as a,i as b,j as c}from"./chunk-OAV3KSOH.js";import"./chunk-LDX645EJ.js";import"./chunk-VVLHMHQU.js";import"./chunk-UNYVA74V.js";export{a as KeyField,b as Keys,c as ValuesView};
