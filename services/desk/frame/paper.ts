// An answer on paper: question, moment and number on every page, and a code that opens the answer again.
import { html, type TemplateResult } from 'lit-html'
import { guard } from 'lit-html/directives/guard.js'
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

export function paper(
  { number, opens = '' }: { number?: string; opens?: string },
  asOf: string,
): TemplateResult {
  const known = `As known ${fullWords(asOf)}`
  const address = location.origin + (number ? answerAddress(number) : opens)
  // Worked out once for each answer, however often it is drawn.
  const code = () => html`<div .innerHTML=${renderSVG(address, { border: 1 })}></div>`
  return html`<aside class="on-paper" aria-hidden="true" data-known=${known}>
    ${guard([address], code)}
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
