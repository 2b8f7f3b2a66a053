// The report of a recall as a page to print: no script, nothing from elsewhere, black on white.
import { hash } from 'node:crypto'
import { grouped } from '../estimate.ts'
import type { RecallReport, ReportTable } from './recall-report.ts'

/** Rows printed; the rest is in the file. */
const ROWS_PRINTED = 60
const EVENTS_PRINTED = 200

/** The printer's own paper, A4 or Letter: both leave room inside these margins. */
const STYLE = `@page { margin: 18mm 16mm 20mm; @bottom-right { content: counter(page) " / " counter(pages) } }
body { color: #000; background: #fff; font: 10.5pt/1.4 Georgia, serif; max-width: 180mm; margin: 2rem auto; padding: 0 1rem }
h1 { font-size: 18pt; margin: 0 0 .3em } h2 { font-size: 12.5pt; margin: 1.6em 0 .4em; break-after: avoid }
p { margin: .3em 0 } .answer { font-size: 13pt }
table { border-collapse: collapse; width: 100% } thead { display: table-header-group }
th, td { border-bottom: .4pt solid #000; padding: 2pt 8pt 2pt 0; text-align: left; vertical-align: top; overflow-wrap: anywhere }
td.number, th.number { text-align: right; white-space: nowrap } tr { break-inside: avoid }
.small { font-size: 8.5pt; overflow-wrap: anywhere } figure { margin: .5em 0; break-inside: avoid } svg { width: 100%; height: 14mm }
@media print { body { margin: 0; padding: 0; max-width: none } }
`

/** Holds the page to its own style and to nothing else. */
export const REPORT_POLICY = `default-src 'none'; style-src 'sha256-${hash('sha256', STYLE, 'base64')}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`

/** The whole page. */
export function reportPage(report: RecallReport): string {
  const { recall, reportsIn, answers, customers, covers, events } = report
  const title = `Recall ${recall.number}, ${recall.closedAt ? `closed ${recall.closedAt}` : 'report so far: it is open'}`
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>${text(title)}</title><style>${STYLE}</style></head><body>
<h1>${text(title)}</h1>
<p>Opened ${text(recall.at)} by ${text(recall.by)}: ${text(recall.reason)}</p>
${recall.closedBecause ? `<p>Closed because: ${text(recall.closedBecause)}</p>` : ''}
${recall.due ? `<p>To be decided until ${text(recall.due)}.</p>` : ''}
<p class="answer">${text(answerOf(recall))}</p>
${recall.partsMissing > 0 ? `<p class="answer">So far: ${recall.partsMissing} parts of what it covers have not come in; it may cover more.</p>` : ''}
${drawing(recall.found)}
<p>${text(reportsIn.sentence)} As known ${text(reportsIn.asOf)}.</p>
<h2>What became of the castings</h2>
${table(
  ['What', 'Castings'],
  [
    ...recall.found.parts.map((part: Part) => [words(part.became), part.castings]),
    ['nobody has said', recall.found.notKnown],
    ['all that it covers', recall.found.castings],
  ],
)}
<h2>Time limits that others set</h2>
<p>Counted from its opening. Which of them hold, and whether they were kept, is for counsel to say: ask counsel.</p>
${table(
  ['Duty', 'By', 'Where it comes from'],
  recall.clocks.map(({ duty, due, source }: Clock) => [duty, due, source]),
)}
<h2>Customers</h2>
${partOf(customers)}
<h2>What it covers</h2>
${partOf(covers)}
<h2>Words for those who talk to customers</h2>
<p>${text(recall.say ?? 'None were written.')}</p>
<h2>What it rests on</h2>
${answers.map(answerPart).join('\n')}
${report.answersLeftOut > 0 ? `<p>${grouped(report.answersLeftOut)} further answers are not worked out again here.</p>` : ''}
<h2>What happened, newest first</h2>
${table(
  ['When', 'What', 'Report'],
  events
    .slice(0, EVENTS_PRINTED)
    .map(({ happenedAt, sentence, id, inForce }: Event) => [
      happenedAt ?? '',
      inForce ? sentence : `${sentence} (no longer counts)`,
      id,
    ]),
)}
${report.eventsInAll > EVENTS_PRINTED ? `<p>${grouped(report.eventsInAll)} reports in all: report.json has ${grouped(events.length)} of them.</p>` : ''}
<h2>Cautions</h2>
${[...new Set([...recall.cautions, ...answers.flatMap((one) => one?.cautions ?? [])].map(({ sentence }) => sentence))].map((sentence) => `<p>${text(sentence)}</p>`).join('\n')}
<p class="small">Made ${text(report.madeAt)}; record version ${text(report.recordVersion)}; ${text(recall.id)}.</p>
</body></html>
`
}

interface Part {
  became: string
  castings: number
}
interface Clock {
  duty: string
  due: string
  source: string
}
interface Event {
  id: string
  happenedAt: string | null
  sentence: string
  inForce: boolean
}
interface Found {
  castings: number
  shipped: number
  notKnown: number
  effectiveness: number | null
  parts: Part[]
}

function answerOf({ found }: { found: Found }): string {
  const { castings, shipped, notKnown, effectiveness } = found
  const known = Math.max(0, castings - notKnown)
  const share =
    effectiveness === null
      ? 'None had left the plant.'
      : `Customers have accounted for ${Math.round(100 * effectiveness)} in 100 of the ${grouped(shipped)} that had left.`
  return `Of ${grouped(castings)} castings it is known of ${grouped(known)} what became of them, and not of ${grouped(notKnown)}. ${share}`
}

/** One bar that adds up to what is covered: solid what is known, empty what is not. */
function drawing({ castings, notKnown }: Found): string {
  if (castings === 0) return ''
  const known = Math.round((1000 * Math.max(0, castings - notKnown)) / castings)
  const label = `${grouped(castings - notKnown)} of ${grouped(castings)} castings are accounted for`
  return `<figure><svg viewBox="0 0 1000 60" preserveAspectRatio="none" role="img" aria-label="${text(label)}">
<rect x="1" y="5" width="998" height="50" fill="none" stroke="#000" stroke-width="2"/><rect x="1" y="5" width="${known}" height="50"/></svg></figure>`
}

function answerPart(
  answer: {
    id: string
    question: string
    sentence: string
    asOf: string
    completeness: { sentence: string }
    since: { until: string; sentence: string } | null
  } | null,
): string {
  if (!answer?.question) return '<p>One answer cannot be given again.</p>'
  return `<p>${text(answer.question)}</p><p>${text(answer.sentence)} ${text(answer.completeness.sentence)} As known ${text(answer.asOf)}.</p>
<p>${answer.since ? `Since then, up to ${text(answer.since.until)}: ${text(answer.since.sentence)}` : 'What has changed since cannot be told: ask the question again.'}</p>
<p class="small">Answer ${text(answer.id)}</p>`
}

function partOf({ columns, rows, file, sha256 }: ReportTable): string {
  const more = rows.length - ROWS_PRINTED
  const rest = more > 0 ? `${grouped(more)} more in the file. ` : ''
  return `${table(
    columns.map((column) => column.replaceAll('_', ' ')),
    rows.slice(0, ROWS_PRINTED),
  )}<p class="small">${rest}File ${text(file)}, SHA-256 ${sha256}</p>`
}

type Cell = string | number | boolean | null

function table(head: readonly string[], rows: readonly (readonly Cell[])[]): string {
  if (rows.length === 0) return '<p>None.</p>'
  const isNumber = head.map((_, i) =>
    rows.every((row) => typeof row[i] !== 'string' || row[i] === ''),
  )
  const tag = (i: number) => (isNumber[i] ? ' class="number"' : '')
  const cell = (value: Cell, i: number) => `<td${tag(i)}>${text(cellWords(value))}</td>`
  return `<table><thead><tr>${head.map((name, i) => `<th scope="col"${tag(i)}>${text(name)}</th>`).join('')}</tr></thead>
<tbody>${rows.map((row) => `<tr>${row.map(cell).join('')}</tr>`).join('\n')}</tbody></table>`
}

function cellWords(value: Cell): string {
  if (value === null) return ''
  return typeof value === 'number' ? grouped(value) : String(value)
}

/** Such as RETURN_TO_SUPPLIER as people read it. */
function words(word: string): string {
  return word.toLowerCase().replaceAll('_', ' ')
}

const ESCAPED: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
}

/** Text of the record is text on the page, whatever it holds. */
function text(value: string): string {
  return value.replaceAll(/[&<>"']/g, (sign) => ESCAPED[sign]!)
}
