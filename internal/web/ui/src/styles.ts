// Styles that come with a view in place of the page, which is drawn before them.

/** adopt adds the text of a style sheet to the page, behind its own. */
export function adopt(css: string) {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(css);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
}
