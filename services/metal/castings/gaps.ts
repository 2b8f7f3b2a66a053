// What does not add up or cannot be told, in sentences: each is a reason not to call castings clear.
import type { Station, Step } from '../../events/fact.ts'
import type { Floor } from './floor.ts'
import type { Handling, Load } from './handling.ts'
import type { Doubt } from './molds.ts'
import { passedOf } from './places.ts'
import type { Pour } from './pour-stock.ts'
import { ALL, INFERRED, SAID, SHARED } from './serving.ts'
import type { Draw, Stock } from './stock.ts'
import type { Vessel } from './vessel.ts'

/** Something that castings cannot be called clear across. */
export interface Gap {
  sort:
    | Doubt['sort']
    | 'not-reported'
    | 'poured-twice'
    | 'overdrawn'
    | 'unknown-origin'
    | 'unaccounted'
    | 'not-empty'
    | 'count-differs'
    | 'tag-reused'
    | 'clock-order'
    | 'unknown-scrap'
    | 'filled-in'
  /** The thing it is about. */
  about: number
  /** Whose report is missing or wrong. */
  station: Station
  castings?: number
  sentence: string
}

export function* gapsOf(floor: Floor): Iterable<Gap> {
  const { flow } = floor
  const passed = passedOf(floor)
  for (const pour of flow.pours.values()) {
    yield* ofPour(pour)
    if (passed(pour)) yield* notSeen(pour)
  }
  yield* pouredTwice(floor)
  for (const [no, load] of flow.loads) yield* ofLoad(no, load)
  for (const vessel of flow.vessels.values()) yield* ofVessel(floor, vessel)
  for (const shippings of flow.shippings.values())
    for (const { stock } of shippings) yield* ofStock(stock, 'ship')
  for (const draw of flow.adrift) yield* adrift(draw)
  yield* filledIn(floor)
}

/** Loads and packs of which nobody said where they came from. */
function* filledIn({ inference }: Floor): Iterable<Gap> {
  for (const { no, step, castings, from } of inference.filled()) {
    const places = from === 1 ? '1 place' : `${from} places`
    const sentence = `Nobody said where ${count(castings)} came from: by their counts and by how long others took, from ${places}.`
    const station = step === 'pack' ? 'ship' : stationOf(step)
    yield { sort: 'filled-in', about: no, station, castings, sentence }
  }
}

const MOLDS: Record<Doubt['sort'], string> = {
  'no-molds': 'belong to no reported run of molds: their castings are not counted',
  'no-pattern': 'were made on a pattern no report mounts: their castings are not counted',
  'molds-undecided': 'may be of more than one run of molds',
}

function* ofPour({ no, poured, count, stock }: Pour): Iterable<Gap> {
  if (!poured && stock.outs.length > 0) {
    const castings = stock.outs.reduce((sum, { got }) => sum + amountOf(got), 0) / 1000
    const sentence = 'Other reports name this pour, its own never came: what it made is not known.'
    yield { sort: 'not-reported', about: no, station: 'pour', castings, sentence }
  }
  for (const { sort, first, last } of count?.doubts ?? []) {
    yield {
      sort,
      about: no,
      station: 'mold',
      sentence: `Molds ${first} to ${last} ${MOLDS[sort]}.`,
    }
  }
  yield* ofStock(stock, 'pour')
}

/** What a pour made and nobody took out of its molds. */
function* notSeen({ no, stock }: Pour): Iterable<Gap> {
  const castings = amountOf(stock.left) / 1000
  if (castings < 1) return
  const sentence = `${count(castings)} of it were not seen again after later molds were shaken out.`
  yield { sort: 'unaccounted', about: no, station: 'clean', castings, sentence }
}

/** Molds of one run that two pours say they filled. */
function* pouredTwice({ flow }: Floor): Iterable<Gap> {
  const byRun = new Map<number, { first: number; last: number; pour: number }[]>()
  for (const { no, count } of flow.pours.values()) {
    for (const { first, last, runs } of count?.stretches ?? []) {
      if (runs.length !== 1) continue
      const list = byRun.get(runs[0]!.of)
      if (list) list.push({ first, last, pour: no })
      else byRun.set(runs[0]!.of, [{ first, last, pour: no }])
    }
  }
  for (const fills of byRun.values()) {
    fills.sort((a, b) => a.first - b.first || a.pour - b.pour)
    let before = fills[0]!
    for (const fill of fills.slice(1)) {
      if (fill.first <= before.last && fill.pour !== before.pour) {
        const sentence = `Molds ${fill.first} to ${Math.min(fill.last, before.last)} were filled by another pour, too.`
        yield { sort: 'poured-twice', about: fill.pour, station: 'pour', sentence }
      }
      if (fill.last > before.last) before = fill
    }
  }
}

function* ofLoad(no: number, load: Load): Iterable<Gap> {
  const seen = new Set<string>()
  for (const handling of load.handlings) {
    const station = stationOf(handling.step)
    const key = `${handling.step} ${handling.pass}`
    if (handling.report && seen.has(key)) {
      const sentence = `This load went through ${handling.step} more than once: its tag was used again.`
      yield { sort: 'tag-reused', about: no, station, sentence }
    }
    seen.add(key)
    for (const stock of handling.stocks) yield* ofStock(stock, station)
    yield* againstClocks(handling)
  }
}

/** Castings taken from a handling that had not ended. */
function* againstClocks({ main, end, step }: Handling): Iterable<Gap> {
  for (const { rank, turn, into, got } of main.outs) {
    if ((turn !== SAID && turn !== SHARED) || !into || into.no === main.no || rank.at >= end.at)
      continue
    const sentence = `Castings came from ${step} before it ended: clocks differ, or a report is missing.`
    yield {
      sort: 'clock-order',
      about: into.no,
      station: stationOf(step),
      castings: amountOf(got) / 1000,
      sentence,
    }
  }
}

function* ofVessel({ counted }: Floor, vessel: Vessel): Iterable<Gap> {
  const station = vessel.kind === 'pack' ? 'ship' : 'clean'
  for (const standing of vessel.standings) {
    yield* ofStock(standing, station)
    const left = amountOf(standing.left) / 1000
    if (standing.place !== 'UNACCOUNTED' || left < 1) continue
    const sentence = `It was said to be empty while ${count(left)} should still have stood in it.`
    yield { sort: 'not-empty', about: vessel.no, station, castings: left, sentence }
  }
  for (const { at, castings } of counted.get(vessel.no) ?? []) {
    const book = bookOf(vessel, at)
    if (castings === undefined || Math.abs(castings - book) < 1) continue
    const sentence = `${count(castings)} were counted in it where reports come to ${book}.`
    yield { sort: 'count-differs', about: vessel.no, station, castings: castings - book, sentence }
  }
  for (const use of vessel.uses) if (!use.from) yield* adrift(use)
}

/** What should stand in a vessel at a moment, by the reports. */
function bookOf(vessel: Vessel, at: number): number {
  const standing = vessel.standingAt({ at, tie: Number.POSITIVE_INFINITY })
  if (!standing) return 0
  const taken = standing.outs.filter(({ rank, turn }) => rank.at <= at && turn !== ALL)
  return (amountOf(standing.held) - taken.reduce((sum, { got }) => sum + amountOf(got), 0)) / 1000
}

function* ofStock({ no, outs, unrecorded, lost }: Stock, station: Station): Iterable<Gap> {
  const short =
    outs.reduce((sum, { turn, short }) => (turn === INFERRED ? sum : sum + short), 0) / 1000
  if (short > 0) {
    const sentence = `${count(short)} more were taken from it than were there.`
    yield { sort: 'overdrawn', about: no, station, castings: short, sentence }
  }
  const unknown = amountOf(unrecorded) / 1000
  if (unknown > 0) {
    const sentence = `${count(unknown)} came in from where no report tells.`
    yield { sort: 'unknown-origin', about: no, station, castings: unknown, sentence }
  }
  const unseen = lost.reduce((sum, { got }) => sum + amountOf(got), 0) / 1000
  if (unseen > 0) {
    const sentence = `${count(unseen)} came in and were not seen to leave.`
    yield { sort: 'unaccounted', about: no, station, castings: unseen, sentence }
  }
}

/** Castings that left the flow from where no report tells. */
function* adrift({ into, rest, amount }: Draw): Iterable<Gap> {
  if (into || rest?.thing === undefined || amount === 0) return
  const sentence = `${count(amount / 1000)} left as ${rest.fate ?? 'scrap'} from where none are known to have been.`
  yield {
    sort: 'unknown-scrap',
    about: rest.thing,
    station: 'inspect',
    castings: amount / 1000,
    sentence,
  }
}

function stationOf(step: Step): Station {
  return step === 'oil' || step === 'bake' || step === 'strip' ? 'season' : 'clean'
}

function amountOf(held: readonly { amount: number }[]): number {
  return held.reduce((sum, { amount }) => sum + amount, 0)
}

function count(castings: number): string {
  const number = Number(castings.toFixed(1))
  return number === 1 ? '1 casting' : `${number} castings`
}
