// An answer on paper: question, moment and number on every page, and a code that opens the answer again.
import { html, nothing, type TemplateResult } from 'lit-html'
import { unsafeHTML } from 'lit-html/directives/unsafe-html.js'
import { until } from 'lit-html/directives/until.js'
import { fullWords } from '../words/moment.ts'

/** Margins of pages are said by a style sheet alone, and the policy lets none be written into the page. */
const margins = new CSSStyleSheet()
document.adoptedStyleSheets = [...document.adoptedStyleSheets, margins]

window.addEventListener('beforeprint', () => {
  const known = document.querySelector<HTMLElement>('.on-paper')?.dataset.known
  if (known) margins.replaceSync(marginsOf(document.title, known))
})

/** The address that opens an answer again. */
export function answerAddress(number: string): string {
  return `/answer?${new URLSearchParams({ id: number })}`
}

export function paper(number: string, asOf: string): TemplateResult {
  const known = `As known ${fullWords(asOf)}`
  return html`<aside class="on-paper" aria-hidden="true" data-known=${known}>
    ${until(codeOf(number), nothing)}
    <p>Answer ${number}</p>
  </aside>`
}

const codes = new Map<string, Promise<unknown>>()

/** Once for each answer: it is drawn again with every step of a ruler. */
function codeOf(number: string): Promise<unknown> {
  if (codes.has(number)) return codes.get(number)!
  const code = import('uqr').then(({ renderSVG }) =>
    unsafeHTML(renderSVG(location.origin + answerAddress(number), { border: 1 })),
  )
  codes.set(number, code)
  return code
}

function marginsOf(question: string, known: string): string {
  return `@page {
    @top-left { content: ${quoted(question)}; }
    @bottom-left { content: ${quoted(known)}; }
    @bottom-right { content: "page " counter(page) " of " counter(pages); }
  }`
}

/** As style sheets write texts. */
function quoted(text: string): string {
  return `"${text.replace(/["\\\n\r\f]/g, (sign) => `\\${sign.charCodeAt(0).toString(16)} `)}"`
}
