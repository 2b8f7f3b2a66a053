// The desk in the browser: knows who is in, opens the page of the address, and keeps head and news going.
import { html, nothing, render } from 'lit-html'
import { askReportsIn, type ReportsInQuery } from './asks/reports-in.ts'
import { ask, type SignedIn, Unanswered, whoIsIn } from './frame/ask.ts'
import { head } from './frame/head.ts'
import { listen, type News } from './frame/news.ts'
import type { Desk, Page } from './frame/page.ts'
import { catchScans } from './frame/scanner.ts'
import { bringPaper } from './frame/sheet.ts'
import { signInForm, signInView } from './frame/sign-in.ts'
import { PAGES } from './pages/pages.ts'
import type { Units } from './words/units.ts'

/** The newest wins; more often nobody reads it. Unit: ms. */
const HEAD_EVERY_MS = 2_000

/** No drawing is laid out for less. Unit: px. */
const NARROWEST = 280

/** What the narrower of A4 and Letter leaves between margins, beside the code. Unit: px. */
const ON_PAPER = 560

const root = document.getElementById('desk')!
root.replaceChildren()
const aloud = document.createElement('p')
const urgent = document.createElement('p')

/** As last laid out: to ask for it would have the browser lay out what is half drawn. Unit: px. */
let room = roomNow()

let who: SignedIn | undefined
let page: Page | undefined
let reportsIn: ReportsInQuery['reportsIn'] | undefined
let disconnectedSince: Date | undefined
let knownAt: Date | undefined
let isSignedOut = false
let isDue = false
let isOnPaper = false
/** A page that is still being loaded when the next is asked for must not come up after it. */
let opening = 0

const desk: Desk = {
  get who() {
    return who!
  },
  get units() {
    return (localStorage.getItem('units') ?? 'kg') as Units
  },
  get room() {
    return isOnPaper ? ON_PAPER : Math.max(NARROWEST, room)
  },
  go(address, { instead = false } = {}) {
    const held = address.startsWith('/inquiry') ? parametersNow().get('hand') : null
    const state = held === null ? null : { held }
    if (instead) history.replaceState(state, '', address)
    else history.pushState(state, '', address)
    void open()
  },
  keep(parameters) {
    history.replaceState(history.state, '', `${location.pathname}?${parameters}`)
  },
  redraw() {
    if (isDue) return
    isDue = true
    queueMicrotask(draw)
  },
  say(sentence, isUrgent = false) {
    const line = isUrgent ? urgent : aloud
    line.textContent = ''
    // What comes at once is read together: the last would silence the others.
    if (unsaid.push({ line, sentence }) === 1) requestAnimationFrame(sayAll)
  },
}

function roomNow(): number {
  const { paddingLeft, paddingRight } = getComputedStyle(root)
  return Math.floor(root.clientWidth - parseFloat(paddingLeft) - parseFloat(paddingRight))
}

function draw(): void {
  isDue = false
  if (!who) {
    render(signInView(startDesk), root)
    return
  }
  const title = page?.title() ?? ''
  if (title !== '' && document.title !== title) document.title = title
  const parts = {
    inHand: parametersNow().get('hand') ?? '',
    inUpTo: reportsIn?.asOf,
    disconnectedSince,
    known: knownAt,
    signInAgain: isSignedOut ? signInForm(signedInAgain) : undefined,
    news: nothing as typeof nothing,
    roles: who.roles,
    take,
  }
  render(html`${head(parts)}${page?.view() ?? nothing}`, root)
  readAnswer()
}

function bring(): void {
  bringPaper().then(
    () => desk.redraw(),
    () => (isPaperHere = false),
  )
}

const unsaid: { line: HTMLElement; sentence: string }[] = []

function sayAll(): void {
  for (const { line, sentence } of unsaid.splice(0))
    line.textContent = `${line.textContent} ${sentence}`.trim()
}

/** Read on arrival, and when it is another; not again while it stays. */
let answerRead = ''
let isPaperHere = false

function readAnswer(): void {
  const answer = root.querySelector('h2.answer')?.textContent?.trim().replace(/\s+/g, ' ') ?? ''
  if (answer !== '' && answer !== answerRead) desk.say(answer)
  answerRead = answer
  if (answer === '' || isPaperHere) return
  isPaperHere = true
  // Once the answer is painted.
  requestAnimationFrame(() => setTimeout(bring))
}

/** What is longer may be a mail with a name in it, which belongs into no address. Unit: signs. */
const LONGEST_ADDRESSED = 100

function take(text: string): void {
  const isShort = text.length <= LONGEST_ADDRESSED && !text.includes('\n')
  if (isShort) desk.go(text === '' ? '/' : `/?${new URLSearchParams({ hand: text })}`)
  else {
    history.pushState({ held: text }, '', '/')
    void open()
  }
}

/** Those of the address, and what is held beside it. */
function parametersNow(): URLSearchParams {
  const parameters = new URLSearchParams(location.search)
  const held = (history.state as { held?: string } | null)?.held
  if (held !== undefined) parameters.set('hand', held)
  return parameters
}

async function open(): Promise<void> {
  const mine = ++opening
  const [, name = ''] = location.pathname.split('/')
  const load = PAGES[name] ?? PAGES['']!
  const openPage = await load()
  if (mine !== opening) return
  page?.close?.()
  page = openPage(desk, parametersNow())
  answerRead = ''
  draw()
  window.scrollTo(0, 0)
  // What was pressed is gone: whoever goes by keyboard or ear goes on at the question.
  if (mine > 1) root.querySelector('h1')?.focus({ preventScroll: true })
}

function hear(news: News): void {
  if (news.kind === 'disconnected') disconnectedSince ??= new Date()
  else if (news.kind === 'signed-out') isSignedOut = true
  else {
    disconnectedSince = undefined
    isSignedOut = false
    knownAt = new Date()
  }
  page?.hear?.(news)
  if (news.kind === 'reports' || news.kind === 'connected') void askHead()
  desk.redraw()
}

let listening: { end(): void } | undefined
let headAskedMs = 0
let headTimer: ReturnType<typeof setTimeout> | undefined

function askHead(): void {
  clearTimeout(headTimer)
  const waitMs = Math.max(0, headAskedMs + HEAD_EVERY_MS - Date.now())
  headTimer = setTimeout(async () => {
    headAskedMs = Date.now()
    try {
      reportsIn = (await ask(askReportsIn, {})).reportsIn
      desk.redraw()
    } catch (error) {
      if (!(error instanceof Unanswered)) throw error
    }
  }, waitMs)
}

/** Links of the desk open without a new document. */
function follow(event: MouseEvent): void {
  if (event.defaultPrevented) return
  const link = (event.target as Element).closest?.('a')
  const isOwn = link && link.origin === location.origin && PAGES[link.pathname.split('/')[1] ?? '']
  if (!isOwn || event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return
  event.preventDefault()
  desk.go(link.href.slice(location.origin.length))
}

/** What was typed stays, unless somebody else sits down: theirs is another desk. */
async function signedInAgain(): Promise<void> {
  const now = await whoIsIn().catch(() => undefined)
  if (!now) return
  if (now.subject !== who?.subject) return location.reload()
  listening?.end()
  listening = listen(hear)
}

/** Without a connection, who was in last: it says what to show, and the house asks each question anew. */
function lastIn(): SignedIn | undefined {
  return JSON.parse(localStorage.getItem('who') ?? 'null') ?? undefined
}

/** `isAnew` when who was in before may be another. */
export async function startDesk(isAnew = true): Promise<void> {
  who = await whoIsIn(isAnew).catch(lastIn)
  if (who) localStorage.setItem('who', JSON.stringify(who))
  else localStorage.removeItem('who')
  if (!who) return draw()
  listening?.end()
  listening = listen(hear)
  askHead()
  await open()
}

for (const [line, role] of [
  [aloud, 'status'],
  [urgent, 'alert'],
] as const) {
  line.className = 'aloud'
  line.setAttribute('role', role)
  document.body.append(line)
}
document.addEventListener('click', follow)
window.addEventListener('popstate', () => void open())
new ResizeObserver(() => {
  const now = roomNow()
  if (now === room) return
  room = now
  desk.redraw()
}).observe(root)
window.addEventListener('beforeprint', () => {
  isOnPaper = true
  draw()
})
window.addEventListener('afterprint', () => {
  isOnPaper = false
  draw()
})
catchScans((text) => (page?.scan ? page.scan(text) : take(text)), new AbortController().signal)
