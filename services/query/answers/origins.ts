// Where did this come from? Chances over pours and heats, shares of lots, and what touched it.

import type { Content } from '../../metal/castings/contents.ts'
import { likelyEnds } from '../../metal/doubt.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { Odds } from '../../metal/odds.ts'
import { isOnlyNamed, type Origins, originsOf } from '../../metal/origins.ts'
import { heatsOfPour } from '../../metal/poured-from.ts'
import { standingOf } from '../../metal/reach.ts'
import { type Touch, touchesOf } from '../../metal/touches.ts'
import { aroundPour } from '../../metal/upstream.ts'
import { type ListName, type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { bounded, type Estimate, inWords, listed, plain } from '../estimate.ts'
import { type Completeness, completenessOf, type Rests } from '../record/completeness.ts'
import { find, notOne } from '../things/name.ts'
import type { ThingBy } from '../things/thing.ts'
import { answerId } from './answer-id.ts'
import { pathOf } from './path.ts'
import { type OriginsThen, originsSince } from './since.ts'

export interface OriginsArgs {
  of: ThingBy
  asOf?: number | null
}

export async function origins(context: Context, args: OriginsArgs): Promise<object> {
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(args.asOf ?? undefined)
  const found = await find(context, args.of, asOf)
  if (found.found !== 'one') return notOne(context, found, asOf)
  const { no } = found
  const known = originsOf(view, no)
  // Worked out before anything is waited for: the record may go on meanwhile.
  const lots = known?.lots ?? []
  const touches = known ? touchesOf(view, known) : []
  const completeness = await completenessOf(context, view, asOf, restsOf(view, no, known))
  if (!known || (known.pours.length === 0 && lots.length === 0 && touches.length === 0)) {
    return {
      __typename: 'TrailBroken',
      of: () => context.things.one(no, asOf),
      knownUpTo: () => context.things.many([no], asOf),
      gaps: () => completeness.gaps({ first: 5 }),
      sentence: `No report in force says what ${view.things.name(no)} is made of. See what is missing and ask that station to report it.`,
      completeness,
    }
  }
  return new OriginsAnswer(context, view, asOf, args, no, known, touches, completeness)
}

class OriginsAnswer {
  readonly __typename = 'Origins'
  readonly id: string
  readonly asOf: number
  readonly completeness: Completeness
  readonly #context: Context
  readonly #args: OriginsArgs
  readonly #view: View
  readonly #no: number
  readonly #known: Origins
  readonly #touches: Touch[]

  constructor(
    context: Context,
    view: View,
    asOf: number,
    args: OriginsArgs,
    no: number,
    known: Origins,
    touches: Touch[],
    completeness: Completeness,
  ) {
    this.id = answerId({ question: 'origins', args: { of: args.of }, asOf })
    this.asOf = asOf
    this.completeness = completeness
    this.#context = context
    this.#args = args
    this.#view = view
    this.#no = no
    this.#known = known
    this.#touches = touches
  }

  of() {
    return this.#context.things.one(this.#no, this.asOf)
  }

  question(): string {
    return `Where did ${this.#view.things.name(this.#no)} come from?`
  }

  sentence(): string {
    const { pours, lots, unrecorded, unknownSource, filledIn } = this.#known
    const { things } = this.#view
    const parts: string[] = []
    const [first] = pours
    if (first && things.kind(this.#no) !== 'pour') {
      parts.push(
        pours.length === 1 && unknownSource === 0
          ? `It was poured from ${things.name(first.pour)}`
          : `It may be from ${pours.length} pours, likeliest ${things.name(first.pour)} (${inWords(first.chance)})`,
      )
    }
    if (lots.length > 0) {
      parts.push(
        `its metal is ${listed(lots.slice(0, 3).map((l) => `${inWords(l.share)} ${things.name(l.lot)}`))}, ${lots.length} lots in all`,
      )
    }
    if (unrecorded > 0) parts.push(`${inWords(unrecorded)} of its metal no report accounts for`)
    if (unknownSource > 0)
      parts.push(`${inWords(unknownSource)} of its castings come from where no report says`)
    if (filledIn > 0)
      parts.push(
        `of ${inWords(filledIn)} of its castings nobody said where they came from, which was filled in`,
      )
    const text = parts.join('; ')
    return `${this.completeness.verdict === 'WHOLE' ? '' : 'So far: '}${text.charAt(0).toUpperCase()}${text.slice(1)}.`
  }

  /** Null when nothing is known now of what it is made of. */
  async since() {
    const now = await origins(this.#context, { of: this.#args.of, asOf: null })
    return now instanceof OriginsAnswer
      ? originsSince(this.#context, this.asAnswered, now.asAnswered)
      : null
  }

  /** What a later answer to the same question is held against. */
  get asAnswered(): OriginsThen {
    const { on } = restsOf(this.#view, this.#no, this.#known)
    return { asOf: this.asOf, known: this.#known, on }
  }

  cautions() {
    return [
      {
        code: 'chance-not-proof',
        sentence:
          'Right of the mold these are chances for one casting taken from it, left of it parts of the metal by mass.',
      },
    ]
  }

  pours(args: PageArgs) {
    return pageOfList(
      this.#known.pours,
      args,
      (row) => [row.chance, row.pour],
      async (row) => ({
        node: await this.#context.things.one(row.pour, this.asOf),
        chance: this.#chance(row.chance),
        atLeastOne: () => this.#atLeastOne(row),
        bounds: () => this.#odds(row.pour).bounds(this.#groups),
      }),
      this.#list('pours'),
    )
  }

  heats(args: PageArgs) {
    const rows = [...this.#heats()]
      .map(([heat, chance]) => ({ heat, chance }))
      .sort((a, b) => b.chance - a.chance || a.heat - b.heat)
    return pageOfList(
      rows,
      args,
      (row) => [row.chance, row.heat],
      async (row) => ({
        node: await this.#context.things.one(row.heat, this.asOf),
        chance: this.#chance(row.chance),
      }),
      this.#list('heats'),
    )
  }

  lots(args: PageArgs) {
    const grams = this.#castingGrams()
    return pageOfList(
      this.#known.lots,
      args,
      (row) => [row.share, row.lot],
      async (row) => {
        const share = this.#share(row)
        return {
          node: await this.#context.things.one(row.lot, this.asOf),
          share,
          grams:
            grams === undefined
              ? null
              : bounded(
                  row.share * grams,
                  share.interval!.low * grams,
                  share.interval!.high * grams,
                ),
          byHeel: row.byHeel,
          byReturns: row.byReturns,
        }
      },
      this.#list('lots'),
    )
  }

  #list(name: string): ListName {
    return { list: `${name} of origins`, of: this.id, asOf: this.asOf }
  }

  unrecorded(): Estimate {
    return plain(this.#known.unrecorded)
  }

  unknownSource(): Estimate {
    return plain(this.#known.unknownSource)
  }

  touches() {
    return this.#touches.map((touch) => ({
      station: touch.station.toUpperCase(),
      thing: touch.no === undefined ? null : () => this.#context.things.one(touch.no!, this.asOf),
      machine:
        touch.machine === undefined
          ? null
          : { name: touch.machine, station: touch.station.toUpperCase() },
      standing: standingOf(touch.chance, touch.chance, this.#known.unknownSource).toUpperCase(),
      chance: this.#chance(touch.chance),
    }))
  }

  path({ most }: { most: number }) {
    return pathOf(this.#context, this.#view, this.#no, this.#known, most)
  }

  /** Castings of unknown source may be of any pour, and those whose source was filled in of another. */
  #chance(chance: number): Estimate {
    const { unknownSource, filledIn } = this.#known
    const high = Math.min(1, chance + unknownSource + filledIn)
    const basis = filledIn > 0 ? 'INFERRED' : 'COMPUTED'
    return bounded(chance, Math.max(0, chance - filledIn), high, basis)
  }

  /** The castings asked about. */
  get #groups(): Content[] {
    return this.#view.castings.slotsOf(this.#no)
  }

  /** How castings of one pour lie among others. */
  #odds(pour: number): Odds {
    const { castings } = this.#view
    const all = new Map(castings.unitsOf(pour).map(({ slot }) => [slot, 1]))
    const touched = { sure: new Set<number>(), perhaps: new Set<number>() }
    return new Odds(castings, { best: all, low: all, high: all }, touched)
  }

  #atLeastOne({ pour, chance }: { pour: number; chance: number }): Estimate {
    const { castings, unknownSource, filledIn } = this.#known
    const found = this.#odds(pour).atLeastOne(this.#groups)
    const open = unknownSource > 0 || filledIn > 0
    const high = open ? 1 : found.exact ? found.chance : Math.min(1, chance * castings)
    const basis = filledIn > 0 ? 'INFERRED' : 'COMPUTED'
    return bounded(found.chance, filledIn > 0 ? 0 : found.chance, high, basis)
  }

  /** The ends come from following the lot forward, which knows what heels and gaps leave open. */
  #share({ lot, share }: { lot: number; share: number }): Estimate {
    const { melt, asOf } = this.#view
    const slots = [melt.ownOf(lot), melt.slotOf(lot)].filter((slot) => slot !== undefined)
    const spanOf = melt.ledger.follow(slots, { asOf, doubt: true })
    const all = { best: share, low: 0, high: 0, gap: 0, spread: 0 }
    const likely = { mixed: 0, first: 0, last: 0, left: 0 }
    let total = 0
    // Pours of one thing share their scales: their errors are taken as going together.
    for (const [slot, weight] of this.#known.metal) {
      const { best, low, high, spread, likely: own } = spanOf(slot)
      const mixed = own?.mixed ?? best
      all.low += weight * low
      all.high += weight * high
      all.spread += weight * spread
      likely.mixed += weight * mixed
      likely.first += weight * (own?.orders?.first ?? mixed)
      likely.last += weight * (own?.orders?.last ?? mixed)
      likely.left += weight * (own?.left ?? 1)
      total += weight
    }
    for (const end of ['low', 'high', 'spread'] as const) all[end] /= total || 1
    for (const way of ['mixed', 'first', 'last', 'left'] as const) likely[way] /= total || 1
    const { mixed, left, ...orders } = likely
    const isOne = orders.first === mixed && orders.last === mixed
    const ends = likelyEnds({ ...all, likely: isOne ? { mixed, left } : { mixed, left, orders } })
    return bounded(
      share,
      ends.low,
      ends.high,
      isOnlyNamed(this.#view, lot) ? 'INFERRED' : 'COMPUTED',
    )
  }

  /** Chance by heat. */
  #heats(): Map<number, number> {
    const chances = new Map<number, number>()
    for (const { pour, chance } of this.#known.pours)
      for (const { heat, grams, all } of heatsOfPour(this.#view, pour))
        chances.set(heat, (chances.get(heat) ?? 0) + (chance * grams) / all)
    return chances
  }

  #castingGrams(): number | undefined {
    let [grams, chance] = [0, 0]
    for (const row of this.#known.pours) {
      const heaviest = this.#view.castings.heaviestOf(row.pour)
      if (heaviest > 0) {
        grams += row.chance * heaviest
        chance += row.chance
      }
    }
    return chance > 0 ? grams / chance : undefined
  }
}

/** Loads with the castings that came into them, once for each state of the record. */
const handled = new WeakMap<View, { load: number; slots: number[] }[]>()

/** What an answer about a thing rests on: itself, and all that may be in it. */
export function restsOf(view: View, no: number, known: Origins | undefined): Rests {
  const { castings, melt } = view
  const upstream = new Set([no])
  for (const { pour } of known?.pours ?? []) {
    upstream.add(pour)
    for (const thing of aroundPour(view, pour)) upstream.add(thing)
  }
  for (const [thing, slot] of melt.slots())
    if ((known?.throughMetal[slot] ?? 0) > 0) upstream.add(thing)
  for (const { load, slots } of kept(handled, view, () => [...castings.handlings()])) {
    if (slots.some((slot) => (known?.throughCastings[slot] ?? 0) > 0)) upstream.add(load)
  }
  return restsOn(upstream, no)
}

/** On a thing, and all that may be in it. */
export function restsOn(upstream: ReadonlySet<number>, no: number): Rests {
  return { on: (thing) => upstream.has(thing), begins: Number.NEGATIVE_INFINITY, named: [no] }
}
