// The chance that at least one of some castings taken together is affected. They are drawn without
// putting back, and so is what they were drawn from; castings of one drum are not independent. So
// those asked about are followed back as a number: as many of them as fall to each source, by the
// hypergeometric distribution, down to the pours, of which so many are affected.
//
// Castings that parted and met again share a source, and the more fell to one way, the fewer to the
// other. That is counted too where the ways are few; where they are many, each is followed by itself,
// which gives a little less than the chance.
import { UNRECORDED } from '../ledger/writing.ts'
import { hypergeometric } from './hypergeometric.ts'
import type { Mixing } from './mixing.ts'
import type { PartOf } from './part-of.ts'
import { compareRanks, POURED } from './rank.ts'
import { addProduct, Counts, NOTHING, product, resolve, type Terms, total } from './terms.ts'

/** Castings asked about together. */
export interface Group {
  slot: number
  castings: number
}

/** How castings stand: by slot the part that is affected, and what a leaf holds. */
export interface Odds {
  mixing: Mixing
  affected: PartOf
  /** Part of a leaf that is affected for sure; whether all others are, too, is one chance for them all. */
  sureOf(leaf: number): number
  /** Castings of a leaf. */
  sizeOf(leaf: number): number
}

export interface AtLeastOne {
  chance: number
  /** False where ways that part and meet again are too many to count: then it is at least so much. */
  exact: boolean
}

/** Castings of one composition, or of all that are affected or of all that are not. */
interface Source {
  slot: number
  castings: number
}

// Stand for all sources of which none, and of which every casting is affected.
const NO_SLOT = -1
const ALL_SLOTS = -2

// Of a pack of hundreds no more than one in a million is lost by these.
const NEARLY_ALL = 1 - 1e-9
const HARDLY_ANY = 1e-9
/** More slots that ways meet in, and more terms to add, are not counted together. */
const MOST_SHARED = 6
const MOST_STEPS = 120_000

/** Answers questions about the same affected castings; what was worked out for one serves the next. */
export class Drawing {
  readonly #odds: Odds
  /** By slot: of so many castings that fall to it, the chance that none is affected. */
  readonly #none = new Map<number, Float64Array>()
  #most = 0

  constructor(odds: Odds) {
    this.#odds = odds
  }

  atLeastOne(groups: readonly Group[]): AtLeastOne {
    const asked = new Map<number, number>()
    for (const { slot, castings } of groups) asked.set(slot, (asked.get(slot) ?? 0) + castings)
    for (const [slot, castings] of asked) asked.set(slot, Math.max(1, Math.round(castings)))
    const { cone, shared } = this.#upstream(asked)
    const most = Math.max(...asked.values())
    if (most > this.#most) {
      this.#none.clear()
      this.#most = most
    }
    for (const slot of cone) {
      if (!this.#none.has(slot)) this.#none.set(slot, this.#noneApart(slot))
    }
    const none = this.#together(asked, cone, shared)
    const chance = 1 - (none ?? this.#apart(asked))
    return { chance: Math.min(1, Math.max(0, chance)), exact: none !== undefined }
  }

  /** Partly affected slots the castings may have been in, earliest first; and which several ways lead to. */
  #upstream(asked: ReadonlyMap<number, number>): { cone: number[]; shared: Set<number> } {
    const { mixing } = this.#odds
    const cone = new Set<number>()
    const shared = new Set<number>()
    const waiting: number[] = []
    const reach = (slot: number) => {
      if (this.#standing(slot) !== 'some') return
      if (cone.has(slot)) shared.add(slot)
      else waiting.push(slot)
      cone.add(slot)
    }
    for (const slot of asked.keys()) reach(slot)
    for (let slot = waiting.pop(); slot !== undefined; slot = waiting.pop()) {
      for (const source of this.#sourcesOf(slot)) if (source.slot >= 0) reach(source.slot)
    }
    const rank = (slot: number) => mixing.rankOf(slot) ?? POURED
    return { cone: [...cone].sort((a, b) => compareRanks(rank(a), rank(b)) || a - b), shared }
  }

  /** The chance of none, each way followed by itself. */
  #apart(asked: ReadonlyMap<number, number>): number {
    let chance = 1
    for (const [slot, castings] of asked) {
      const standing = this.#standing(slot)
      if (standing === 'all') return 0
      if (standing === 'some') chance *= this.#none.get(slot)![castings]!
    }
    return chance
  }

  #noneApart(slot: number): Float64Array {
    const sources = this.#sourcesOf(slot)
    if (sources.length === 0) return this.#noneOfLeaf(slot, this.#most)
    let [none, mixed] = [new Float64Array(this.#most + 1).fill(1), 0]
    for (const { slot: from, castings } of sources) {
      const before = none
      none = new Float64Array(this.#most + 1)
      for (let n = 0; n <= this.#most; n++) {
        const { first, chances } = hypergeometric(castings, mixed, n)
        for (let i = first; i < first + chances.length; i++) {
          const clean =
            from === NO_SLOT || i === 0 ? 1 : from === ALL_SLOTS ? 0 : this.#none.get(from)![i]!
          none[n]! += chances[i - first]! * clean * before[n - i]!
        }
      }
      mixed += castings
    }
    return none
  }

  /** The chance of none with what ways share; undefined where that is too much to count. */
  #together(
    asked: ReadonlyMap<number, number>,
    cone: readonly number[],
    shared: ReadonlySet<number>,
  ): number | undefined {
    if (shared.size === 0) return this.#apart(asked)
    const most = [...asked.values()].reduce((sum, castings) => sum + castings, 0)
    if (shared.size > MOST_SHARED || !Counts.fits(shared.size, most)) return undefined
    const counts = new Counts(shared, most)
    const steps = { left: MOST_STEPS }
    const none = new Map<number, Terms[]>()
    // Of what goes back to a slot that ways share.
    const tied = new Set<number>()
    const termsOf = (slot: number, castings: number): Terms => {
      const standing = slot < 0 ? (slot === ALL_SLOTS ? 'all' : 'none') : this.#standing(slot)
      if (castings === 0 || standing === 'none') return NOTHING
      if (standing === 'all') return new Map()
      return shared.has(slot)
        ? new Map([[counts.of(slot, castings), 1]])
        : none.get(slot)![castings]!
    }
    for (const slot of cone) {
      const apart =
        most <= this.#most && !this.#sourcesOf(slot).some(({ slot: from }) => tied.has(from))
      if (apart)
        none.set(
          slot,
          Array.from(this.#none.get(slot)!, (chance) => new Map([[0, chance]])),
        )
      else {
        steps.left -= most ** 2
        none.set(slot, this.#noneTogether(slot, most, termsOf, steps))
      }
      if (!apart || shared.has(slot)) tied.add(slot)
      if (steps.left < 0) return undefined
    }
    let terms = NOTHING
    for (const [slot, castings] of asked) terms = product(terms, termsOf(slot, castings), steps)
    // Latest first: what is put in for one may name earlier ones.
    for (const slot of cone.toReversed()) {
      if (shared.has(slot)) terms = resolve(terms, { slot, counts }, none.get(slot)!, steps)
      if (steps.left < 0) return undefined
    }
    return total(terms)
  }

  #noneTogether(
    slot: number,
    most: number,
    termsOf: (slot: number, castings: number) => Terms,
    steps: { left: number },
  ): Terms[] {
    const sources = this.#sourcesOf(slot)
    if (sources.length === 0) {
      return Array.from(this.#noneOfLeaf(slot, most), (chance) => new Map([[0, chance]]))
    }
    let [none, mixed]: [Terms[], number] = [new Array(most + 1).fill(NOTHING), 0]
    for (const { slot: from, castings } of sources) {
      const before = none
      none = before.map((_, n) => {
        const joined: Terms = new Map()
        if (steps.left < 0) return joined
        const { first, chances } = hypergeometric(castings, mixed, n)
        for (const [k, chance] of chances.entries()) {
          const i = first + k
          addProduct(joined, before[n - i]!, termsOf(from, i), chance, steps)
        }
        return joined
      })
      mixed += castings
    }
    return none
  }

  #noneOfLeaf(leaf: number, most: number): Float64Array {
    const { affected, sureOf, sizeOf } = this.#odds
    const size = sizeOf(leaf)
    const sure = Math.min(sureOf(leaf), affected.of(leaf))
    const others = sure < 1 ? (affected.of(leaf) - sure) / (1 - sure) : 0
    const none = new Float64Array(most + 1).fill(1)
    let drawn = 1
    for (let n = 1; n <= most; n++) {
      const left = Math.max(0, size * (1 - sure) - n + 1) / Math.max(1e-9, size - n + 1)
      drawn *= Math.min(1, left)
      none[n] = drawn * (1 - others)
    }
    return none
  }

  /** What a slot was mixed from, each once: those all or none of whose castings are affected together. */
  #sourcesOf(slot: number): Source[] {
    const merged = new Map<number, number>()
    for (const { slot: from, amount } of this.#odds.mixing.partsOf(slot)) {
      const standing = this.#standing(from)
      const key = standing === 'some' ? from : standing === 'all' ? ALL_SLOTS : NO_SLOT
      merged.set(key, (merged.get(key) ?? 0) + amount / 1000)
    }
    return [...merged].map(([from, castings]) => ({ slot: from, castings }))
  }

  #standing(slot: number): 'none' | 'some' | 'all' {
    const part = this.#odds.affected.of(slot)
    return slot === UNRECORDED || part <= HARDLY_ANY ? 'none' : part >= NEARLY_ALL ? 'all' : 'some'
  }
}
