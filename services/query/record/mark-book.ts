// The marks that packs were said to bear, found as people read them out. A mark is noted once; what is in
// force of it is a question to the statement that said so, as with every fact.
import type { Ms } from '../../events/fact.ts'
import { inForce, type Noted, type Said } from '../../metal/fact-book.ts'
import { listed } from '../../metal/kept.ts'
import type { Things } from '../../metal/things.ts'

interface Marked {
  pack: number
  mark: string
  said: Said
}

const MOST_NEAR = 5

/** As marks are compared: no matter the case, the spaces and the dashes. */
export function markKey(mark: string): string {
  return mark.toUpperCase().replaceAll(/[ \u00a0\-\u2010-\u2014]/g, '')
}

export class MarkBook {
  readonly #things: Things
  readonly #byKey = new Map<string, Marked[]>()
  /** All keys in order, those of `#fresh` left out: such as begin alike stand together. */
  #keys: string[] = []
  #fresh: string[] = []

  constructor(things: Things) {
    this.#things = things
  }

  note({ fact, said }: Noted): void {
    if (fact.what !== 'pack-marked') return
    const key = markKey(fact.mark)
    if (!this.#byKey.has(key)) this.#fresh.push(key)
    listed(this.#byKey, key).push({ pack: fact.of, mark: fact.mark, said })
  }

  /**
   * Packs of a plant that bore a mark as of a moment, the newest first, with the marks that fit as they are
   * printed; `?` stands for any one sign.
   */
  packs(plant: string, written: string, asOf: Ms): Map<number, string[]> {
    const key = markKey(written)
    const all = key.includes('?') ? this.#fitting(key) : (this.#byKey.get(key) ?? [])
    const packs = new Map<number, string[]>()
    for (const { pack, mark, said } of all) {
      if (this.#things.plant(pack) !== plant || !inForce(said, asOf)) continue
      const marks = listed(packs, pack)
      if (!marks.includes(mark)) marks.push(mark)
    }
    return new Map([...packs].sort(([a], [b]) => b - a))
  }

  /** Which of some marks packs of a plant were ever said to bear, as they are printed, at most five. */
  near(plant: string, variants: readonly string[]): string[] {
    const found = new Set<string>()
    for (const key of new Set(variants.map(markKey)))
      for (const { pack, mark } of this.#byKey.get(key) ?? [])
        if (this.#things.plant(pack) === plant) found.add(mark)
    return [...found].sort().slice(0, MOST_NEAR)
  }

  *#fitting(pattern: string): Iterable<Marked> {
    this.#sort()
    for (const key of keysThatFit(this.#keys, pattern)) yield* this.#byKey.get(key)!
  }

  #sort(): void {
    if (this.#fresh.length === 0) return
    this.#keys = merged(this.#keys, this.#fresh.sort())
    this.#fresh = []
  }
}

/** Of two lists in order one in order. */
function merged(a: readonly string[], b: readonly string[]): string[] {
  const all: string[] = []
  let next = 0
  for (const key of a) {
    while (next < b.length && b[next]! < key) all.push(b[next++]!)
    all.push(key)
  }
  return all.concat(b.slice(next))
}

/** Of keys in order those that fit, sign by sign: those with one beginning are never looked at one by one. */
function* keysThatFit(
  keys: readonly string[],
  pattern: string,
  at = 0,
  from = 0,
  until = keys.length,
): Iterable<string> {
  // What ends here stands first of those that begin so, and there is one of it.
  const ends = from < until && keys[from]!.length === at
  if (at === pattern.length) {
    if (ends) yield keys[from]!
    return
  }
  const asked = pattern[at]!
  for (let lo = ends ? from + 1 : from; lo < until; ) {
    const sign = asked === '?' ? keys[lo]![at]! : asked
    const start = asked === '?' ? lo : firstFrom(keys, lo, until, at, sign, false)
    const end = firstFrom(keys, start, until, at, sign, true)
    yield* keysThatFit(keys, pattern, at + 1, start, end)
    lo = asked === '?' ? end : until
  }
}

/** Where the sign at a place is first no less than one, or more than it. */
function firstFrom(
  keys: readonly string[],
  from: number,
  until: number,
  at: number,
  sign: string,
  more: boolean,
): number {
  let [lo, hi] = [from, until]
  while (lo < hi) {
    const middle = (lo + hi) >> 1
    const found = keys[middle]![at]!
    if (more ? found > sign : found >= sign) hi = middle
    else lo = middle + 1
  }
  return lo
}
