// The facts as they were held true over recorded time, found by the things they name. A fact is
// noted once; its statement's spans say when it was in force, so "as of T" is a question, not a copy.
import type { Fact, FactOf, Ms } from '../events/fact.ts'
import type { Span } from '../events/span.ts'
import { kept } from './kept.ts'

/** What the facts of one statement share. `spans` is replaced whenever what is in force changes. */
export interface Said {
  spans: readonly Span[]
  /** Of the statement's content and nothing else, so that ties fall alike whatever arrived first. */
  tie: number
}

export interface Noted<F extends Fact<number> = Fact<number>> {
  fact: F
  said: Said
  /** Place of the fact among those of its statement. */
  n: number
}

type What = Fact<number>['what']
type NotedOf<W extends What> = Noted<FactOf<W, number>>

/** Now: as of the end of recorded time. */
export const NOW = Number.MAX_VALUE

export function inForce(said: Said, asOf: Ms): boolean {
  const spans = said.spans
  for (let i = spans.length - 1; i >= 0; i--) {
    if (spans[i]!.since <= asOf) return asOf < spans[i]!.until
  }
  return false
}

/** Ends of a statement's spans at which something about it changed. */
export function turns(said: Said): Ms[] {
  const at: Ms[] = []
  for (const span of said.spans) {
    at.push(span.since)
    if (span.until !== Number.POSITIVE_INFINITY) at.push(span.until)
  }
  return at
}

/** By moment, then by content: the order of things said by one station. */
export function byMoment(a: Noted, b: Noted): number {
  return a.fact.at - b.fact.at || a.said.tie - b.said.tie || a.n - b.n
}

/** Looked up by `via`, each sort by itself; of the others a furnace or line would list everything it ever did. */
const BY_VIA = new Set<What>([
  'heat-begun',
  'ladle-tapped',
  'metal-moved',
  'pan-packed',
  'lot-received',
  'returns-collected',
])

/** Read all together, whatever they are about. */
const LISTED_WHATS = [
  'measured',
  'inspected',
  'heat-begun',
  'bin-filled',
  'lot-received',
  'returns-collected',
  'matter-opened',
  'complained',
  'recipe-followed',
  'charge-line',
  'ladle-tapped',
  'poured',
  'load-handled',
  'pack-line',
  'repacked',
  'sand-mulled',
  'molds-made',
  'pan-packed',
  'shipped',
] as const satisfies readonly What[]
type ListedWhat = (typeof LISTED_WHATS)[number]
const LISTED: ReadonlySet<What> = new Set(LISTED_WHATS)

export class FactBook {
  #of = new Map<number, Noted[]>()
  #other = new Map<number, Noted[]>()
  #via = new Map<What, Map<number, Noted[]>>()
  #listed = new Map<What, Noted[]>()
  #watched: Set<Ms> | undefined

  note(noted: Noted): void {
    const { fact } = noted
    enter(this.#of, fact.of, noted)
    if (LISTED.has(fact.what)) enter(this.#listed, fact.what, noted)
    if ('other' in fact && fact.other !== undefined) enter(this.#other, fact.other, noted)
    if ('via' in fact && fact.via !== undefined && BY_VIA.has(fact.what)) {
      enter(
        kept(this.#via, fact.what, () => new Map<number, Noted[]>()),
        fact.via,
        noted,
      )
    }
  }

  /** Facts about a thing. */
  of<W extends What>(no: number, what: W, asOf: Ms = NOW): NotedOf<W>[] {
    return this.#pick(this.#of.get(no), what, asOf)
  }

  /** Facts that name a thing as what went in. */
  other<W extends What>(no: number, what: W, asOf: Ms = NOW): NotedOf<W>[] {
    return this.#pick(this.#other.get(no), what, asOf)
  }

  /** Facts that name a thing as where it happened. */
  via<W extends What>(no: number, what: W, asOf: Ms = NOW): NotedOf<W>[] {
    return this.#pick(this.#via.get(what)?.get(no), what, asOf)
  }

  /** All facts of a listed sort, in no order that matters. */
  all<W extends ListedWhat>(what: W, asOf: Ms = NOW): NotedOf<W>[] {
    const found = this.#listed.get(what) as NotedOf<W>[] | undefined
    return found?.filter(({ said }) => inForce(said, asOf)) ?? []
  }

  /** Does some reading and collects the moments at which what it read was otherwise. */
  watch<T>(turned: Set<Ms>, read: () => T): T {
    const outer = this.#watched
    this.#watched = turned
    try {
      return read()
    } finally {
      this.#watched = outer
    }
  }

  #pick<W extends What>(list: Noted[] | undefined, what: W, asOf: Ms): NotedOf<W>[] {
    const found: NotedOf<W>[] = []
    if (!list) return found
    for (const noted of list) {
      if (noted.fact.what !== what) continue
      if (this.#watched) for (const turn of turns(noted.said)) this.#watched.add(turn)
      if (inForce(noted.said, asOf)) found.push(noted as NotedOf<W>)
    }
    return found.length > 1 ? found.sort(byMoment) : found
  }

  /** When the first fact about a thing, or naming it, took effect. Unit: ms. */
  firstAt(no: number, asOf: Ms = NOW): Ms | undefined {
    return earliest(this.#of.get(no), asOf) ?? earliest(this.#other.get(no), asOf)
  }

  /** Every thing that was ever named as what went in. */
  namedElsewhere(): Iterable<number> {
    return this.#other.keys()
  }

  /** Whether some report in force by then named it as what went in, even one withdrawn since. */
  wasNamed(no: number, asOf: Ms = NOW): boolean {
    const naming = this.#other.get(no) ?? []
    return naming.some(({ said }) => (said.spans[0]?.since ?? Number.POSITIVE_INFINITY) <= asOf)
  }
}

function enter<Key>(index: Map<Key, Noted[]>, key: Key, noted: Noted): void {
  const list = index.get(key)
  if (list) list.push(noted)
  else index.set(key, [noted])
}

/** Decided about a thing, long after it came to be. */
const AFTERWARDS = new Set<What>([
  'covered',
  'released',
  'disposed',
  'recall-answered',
  'complaint-examined',
])

function earliest(list: Noted[] | undefined, asOf: Ms): Ms | undefined {
  let least: Ms | undefined
  for (const { fact, said } of list ?? []) {
    if (AFTERWARDS.has(fact.what) || !inForce(said, asOf)) continue
    const at = 'from' in fact && fact.from !== undefined ? fact.from : fact.at
    if (least === undefined || at < least) least = at
  }
  return least
}
