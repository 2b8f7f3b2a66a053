// Style that comes with the page it is for, in its script: no file of its own to be waited for.

export function wear(css: string): void {
  const sheet = new CSSStyleSheet()
  sheet.replaceSync(css)
  document.adoptedStyleSheets.push(sheet)
}
