// What waits for whoever asks, most urgent first: what somebody was promised, what others set a limit to,
// what nobody has looked at. Each as a sentence, with the question whose answer settles it.
import { hasOneOf } from '../../access/who.ts'
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { grouped, listed } from '../estimate.ts'
import type { Ask } from '../hand/asks.ts'
import { misfitsNow } from '../things/fit.ts'
import { asideWaiting } from './aside-waiting.ts'
import { callsIn } from './calls.ts'
import { clocksOf } from './clocks.ts'
import { foundOf } from './found.ts'
import { isOpen, type Matter, mattersOf, stillHeld } from './matter.ts'
import { myCallsIn } from './my-calls.ts'
import { decider } from './publish.ts'
import { SORTS, type Waits } from './waits.ts'

/** The connection `waiting`. */
export async function waiting(context: Context, args: PageArgs) {
  const now = context.now()
  const rows = (await waitingFor(context)).sort(
    (a, b) => urgency(a) - urgency(b) || (keyOf(a) < keyOf(b) ? -1 : 1),
  )
  return pageOfList(
    rows,
    args,
    (row) => [urgency(row), keyOf(row)],
    (row) => ({ node: { ...row, overdue: row.due !== null && row.due <= now } }),
    { list: 'waiting', of: decider(context) },
  )
}

/** No moment comes behind what has no limit. */
const NO_LIMIT = 1e14

/** Whoever was hurt comes before any limit; then by limit; then by sort, the oldest first. */
function urgency({ sort, due, since }: Waits): number {
  if (sort === 'HURT') return (since ?? 0) - NO_LIMIT
  return due ?? NO_LIMIT * (1 + SORTS.indexOf(sort)) + (since ?? 0)
}

function keyOf({ sort, about, sentence }: Waits): string {
  return `${sort} ${about ?? ''} ${sentence}`
}

async function waitingFor(context: Context): Promise<Waits[]> {
  const { view } = (await context.snapshot()).at()
  const { who, plant } = context
  const found: Waits[] = []
  if (hasOneOf(who, ['quality'])) {
    const now = context.now()
    for (const hold of mattersOf(view, plant, 'hold').filter(isOpen)) found.push(holdWaits(hold))
    for (const recall of mattersOf(view, plant, 'recall').filter(isOpen))
      found.push(...recallWaits(view, recall, now))
    found.push(...drillWaits(view, plant, now), ...complaintsWait(view, plant))
  }
  if (hasOneOf(who, ['service'])) found.push(...myCallsWait(view, plant, decider(context)))
  if (hasOneOf(who, ['quality', 'service'])) found.push(...callBacksWait(context, view))
  if (hasOneOf(who, ['quality', 'analyst'])) found.push(...misfitsWait(view, plant))
  if (hasOneOf(who, ['quality', 'admin'])) found.push(...(await asideWaiting(context, view)))
  return found
}

function holdWaits(hold: Matter): Waits {
  const things = stillHeld(hold).length
  return {
    sort: 'HOLD',
    sentence: `Hold ${hold.number} on ${counted(things, 'thing')} is to be decided: ${hold.reason}`,
    ...{ about: `hold:${hold.number}`, since: hold.at, due: hold.due ?? null, source: null },
    settledBy: node(`What became of hold ${hold.number}?`, `hold:${hold.number}`),
  }
}

function* recallWaits(view: View, recall: Matter, now: Ms): Iterable<Waits> {
  const id = `recall:${recall.number}`
  const shared = {
    ...{ about: id, since: recall.at, due: recall.due ?? null, source: null },
    settledBy: node(`What became of recall ${recall.number}?`, id),
  }
  const clocks = clocksOf(recall.at)
  for (const { duty, due, source } of clocks)
    if (due > now)
      yield { ...shared, sort: 'RECALL', due, source, sentence: `Recall ${recall.number}: ${duty}` }
  const passed = clocks.filter(({ due }) => due <= now).length
  const { castings, notKnown } = foundOf(view, recall)
  yield {
    ...shared,
    sort: 'RECALL',
    sentence:
      `Recall ${recall.number}: of ${grouped(notKnown)} of ${counted(castings, 'casting')} nobody has said what became of them` +
      `${passed > 0 ? `, and ${counted(passed, 'time limit')} that others set ${passed === 1 ? 'has' : 'have'} passed` : ''}.`,
  }
  const calls = callsIn(view, recall)
  const untold = calls.filter(({ toldAt }) => toldAt === null)
  const nobodys = untold.filter(({ given }) => given === undefined).length
  if (untold.length > 0)
    yield {
      ...shared,
      sort: 'CALLS',
      sentence:
        `Recall ${recall.number}: ${grouped(untold.length)} of ${counted(calls.length, 'customer')} ${untold.length === 1 ? 'was' : 'were'} not told` +
        `${nobodys > 0 ? `, and ${counted(nobodys, 'call')} ${nobodys === 1 ? 'is' : 'are'} given to nobody` : ''}.`,
    }
  const silent = calls.filter(
    ({ toldAt, answered, castings }) => toldAt !== null && answered < castings,
  )
  if (silent.length > 0)
    yield {
      ...shared,
      sort: 'CALLS',
      sentence: `Recall ${recall.number}: ${counted(silent.length, 'customer')} ${silent.length === 1 ? 'was' : 'were'} told and did not answer for all of it.`,
    }
}

function* myCallsWait(view: View, plant: string, me: string): Iterable<Waits> {
  for (const { recall, customer, castings, toldAt, answered, givenAt } of myCallsIn(
    view,
    plant,
    me,
  )) {
    if (toldAt !== null && answered >= castings) continue
    yield {
      sort: 'CALLS',
      sentence:
        toldAt === null
          ? `Call ${customer} about recall ${recall.number}: ${counted(castings, 'casting')} went there.`
          : `${customer} was told of recall ${recall.number} and has said what became of ${grouped(answered)} of ${counted(castings, 'casting')}.`,
      ...{ about: `recall:${recall.number}`, since: toldAt ?? givenAt },
      ...{ due: recall.due ?? null, source: null },
      settledBy: { sentence: 'Whom am I to call?', question: 'CALLS', of: null },
    }
  }
}

/** Those of a rep are the ones they promised. */
function* callBacksWait(context: Context, view: View): Iterable<Waits> {
  const all = hasOneOf(context.who, ['quality'])
  for (const { fact } of view.book.all('complained', view.asOf)) {
    if (view.things.plant(fact.of) !== context.plant || fact.callBackAt === undefined) continue
    if (!all && fact.by !== decider(context)) continue
    if (view.book.of(fact.of, 'called-back', view.asOf).length > 0) continue
    const [mark] = fact.marks
    const id = view.things.name(fact.of)
    yield {
      sort: 'CALL_BACK',
      sentence: `A caller${mark === undefined ? '' : ` with mark ${mark}`} was promised a call back: ${labelOf(id)}.`,
      ...{ about: id, since: fact.at, due: fact.callBackAt, source: null },
      settledBy: {
        sentence:
          mark === undefined ? 'What may be said now?' : `May a caller with ${mark} be reassured?`,
        question: 'INQUIRY',
        of: mark ?? null,
      },
    }
  }
}

function* complaintsWait(view: View, plant: string): Iterable<Waits> {
  for (const { fact } of view.book.all('complained', view.asOf)) {
    if (view.things.plant(fact.of) !== plant) continue
    if (view.book.of(fact.of, 'complaint-examined', view.asOf).length > 0) continue
    const id = view.things.name(fact.of)
    const about = [fact.defect, fact.product, ...fact.marks].filter((word) => word !== undefined)
    const what = about.length === 0 ? '' : ` (${listed(about, 4)})`
    yield {
      sort: fact.injury ? 'HURT' : 'COMPLAINT',
      sentence: fact.injury
        ? `Somebody was hurt or fell ill, and ${labelOf(id)}${what} was not examined.`
        : `${labelOf(id).replace(/^c/, 'C')}${what} was not examined.`,
      ...{ about: id, since: fact.at, due: null, source: null },
      settledBy: {
        sentence: `What did the caller of ${labelOf(id)} say?`,
        question: 'COMPLAINTS',
        of: id,
      },
    }
  }
}

/** Older ones have been looked at, or will not be. */
const MISFIT_MS = 7 * 24 * 3_600_000

function misfitsWait(view: View, plant: string): Waits[] {
  const found = misfitsNow(view, plant)
  const newest = Math.max(...view.book.all('heat-begun', view.asOf).map(({ fact }) => fact.at))
  return found
    .filter(({ at }) => at > newest - MISFIT_MS)
    .map(({ heat, at }) => {
      const id = view.things.name(heat)
      return {
        sort: 'MISFIT',
        sentence: `The sample of ${labelOf(id)} does not fit what was charged.`,
        ...{ about: id, since: at, due: null, source: null },
        settledBy: {
          sentence: `What does not fit in ${labelOf(id)}?`,
          question: 'MISFITS',
          of: id,
        },
      }
    })
}

const YEAR_MS = 365 * 24 * 3_600_000
const MONTH_MS = 30 * 24 * 3_600_000
const YEARLY = 'once a year is common practice, no source'

function* drillWaits(view: View, plant: string, now: Ms): Iterable<Waits> {
  const drills = mattersOf(view, plant, 'drill')
  for (const { number, at } of drills.filter(isOpen))
    yield {
      sort: 'DRILL',
      sentence: `Drill ${number} was started and is not ended.`,
      ...{ about: `drill:${number}`, since: at, due: null, source: null },
      settledBy: node(`How far is drill ${number}?`, `drill:${number}`),
    }
  const ends = drills.flatMap(({ closed }) => closed?.at ?? [])
  const last = ends.length === 0 ? null : Math.max(...ends)
  if (last !== null && last + YEAR_MS - MONTH_MS > now) return
  yield {
    sort: 'DRILL',
    sentence:
      last === null
        ? 'No tracing drill is on record.'
        : 'The last tracing drill is a year ago, or nearly.',
    ...{ about: null, since: last, due: last === null ? null : last + YEAR_MS, source: YEARLY },
    settledBy: { sentence: 'How long does a trace take?', question: 'DRILLS', of: null },
  }
}

function node(sentence: string, of: string): Ask {
  return { sentence, question: 'NODE', of }
}

function counted(count: number, word: string): string {
  return `${grouped(count)} ${word}${count === 1 ? '' : 's'}`
}

/** `heat:F1-22` as people say it. */
function labelOf(id: string): string {
  return id.replace(':', ' ')
}
