// An answer on paper: question, moment and number on every page, and a code that opens the answer again.
import { html, type TemplateResult } from 'lit-html'
import { renderSVG } from 'uqr'
import { fullWords } from '../words/moment.ts'
import css from './paper.css?inline'
import { wear } from './style.ts'

wear(css)

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

/** Of the answer that was drawn last: worked out once, however often that is drawn. */
let code: { address: string; svg: string } | undefined

export function paper(
  { number, opens = '' }: { number?: string; opens?: string },
  asOf: string,
): TemplateResult {
  const known = `As known ${fullWords(asOf)}`
  const address = location.origin + (number ? answerAddress(number) : opens)
  if (code?.address !== address) code = { address, svg: renderSVG(address, { border: 1 }) }
  return html`<aside class="on-paper" aria-hidden="true" data-known=${known}>
    <div .innerHTML=${code.svg}></div>
    <p>${number ? `Answer ${number}` : address}</p>
  </aside>`
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
