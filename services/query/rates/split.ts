// What rates are split by: of each row of castings, which part belongs to which group.
import type { Ms } from '../../events/fact.ts'
import { followThing, nothingFollowed, type View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { Reach } from '../../metal/reach.ts'
import type { LookedAt, PouredUnit } from '../causes/looked-at.ts'
import { type Behind, behindOf } from '../causes/poured-factors.ts'
import { inWords } from '../estimate.ts'

export type RateBy =
  | 'RECIPE'
  | 'LOT'
  | 'FURNACE'
  | 'LINE'
  | 'PATTERN'
  | 'CAVITY'
  | 'PRODUCT'
  | 'DAY'
  | 'MACHINE'

/** What is asked beside the castings themselves. */
export interface Splitting {
  /** A pour is of a recipe from this part of its metal on. */
  ownMetal: number
  /** Of LOT: which lot, by its number in the record. */
  lot?: number
  /** Of MACHINE: the machines of this step. */
  step?: string
}

/** A group of each unit of one makeup; undefined where the unit belongs to none. */
export interface Split {
  /** Which makeup of the castings its units are of. */
  makeup: number
  groups: (string | undefined)[]
  /** Of LOT: the mean share of each group. */
  doses?: Map<string, number>
}

/** Undefined where the record has no such step. */
export function splitBy(
  view: View,
  plant: string,
  { units, steps }: LookedAt,
  by: RateBy,
  asked: Splitting,
): Split | undefined {
  if (by === 'MACHINE') {
    const s = steps.findIndex(({ step }) => step === asked.step)
    if (s < 0) return undefined
    return { makeup: s + 1, groups: steps[s]!.handlings.map(({ machine }) => machine) }
  }
  if (by === 'RECIPE') return { makeup: 0, groups: recipesOf(view, plant, units, asked.ownMetal) }
  if (by === 'LOT') return { makeup: 0, ...dosesOf(view, units, asked.lot!) }
  const behind = new Map<number, Behind>()
  const groupOf = GROUP[by]
  return {
    makeup: 0,
    groups: units.map((unit) =>
      groupOf(
        unit,
        kept(behind, unit.pour, () => behindOf(view, unit.pour)),
        view,
      ),
    ),
  }
}

type GroupOf = (unit: PouredUnit, behind: Behind, view: View) => string | undefined

const GROUP: Record<Exclude<RateBy, 'MACHINE' | 'RECIPE' | 'LOT'>, GroupOf> = {
  FURNACE: (_, { tapped }, view) => bare(view, tapped?.via),
  LINE: (_, { poured }, view) => bare(view, poured?.via),
  PATTERN: (_, { run }) => run?.pattern,
  CAVITY: ({ cavity, product }) => (cavity ? `${cavity} of ${product}` : undefined),
  PRODUCT: ({ product }) => product || undefined,
  DAY: (_, { poured }) => poured && dayOf(poured.from),
}

function bare(view: View, no: number | undefined): string | undefined {
  return no === undefined ? undefined : view.things.name(no).replace(/^[a-z]+:/, '')
}

/** In universal time: facts keep no offset. */
function dayOf(at: Ms): string {
  return new Date(at).toISOString().slice(0, 10)
}

/** Of each pour the recipe revision that its own metal was charged by; a recipe washes in through the heel. */
function recipesOf(
  view: View,
  plant: string,
  units: readonly PouredUnit[],
  ownMetal: number,
): (string | undefined)[] {
  const charges = new Map<string, number[]>()
  for (const { fact } of view.book.all('recipe-followed', view.asOf)) {
    if (view.things.plant(fact.of) !== plant) continue
    kept(charges, recipeName(fact), () => []).push(fact.of)
  }
  const ofPour = new Map<number, string>()
  for (const [recipe, of] of charges) {
    const followed = nothingFollowed()
    for (const charge of of) followThing(view, followed, charge)
    for (const { pour, best } of new Reach(view, followed).pours)
      if (best >= ownMetal) ofPour.set(pour, recipe)
  }
  return units.map(({ pour }) => ofPour.get(pour))
}

export function recipeName({ recipe, revision }: { recipe: string; revision: string }): string {
  return `${recipe} revision ${revision}`
}

// Shares at which doses are told apart: few enough that each group has castings, wide as shares are.
const DOSES = [1e-3, 1e-2, 3e-2, 1e-1]

function dosesOf(view: View, units: readonly PouredUnit[], lot: number) {
  const followed = nothingFollowed()
  followThing(view, followed, lot)
  const shares = new Map(new Reach(view, followed).pours.map(({ pour, best }) => [pour, best]))
  const groups = units.map(({ pour }) => doseName(shares.get(pour) ?? 0))
  const sums = new Map<string, { sum: number; n: number }>()
  for (const [i, { pour }] of units.entries()) {
    const one = kept(sums, groups[i]!, () => ({ sum: 0, n: 0 }))
    one.sum += shares.get(pour) ?? 0
    one.n++
  }
  return { groups, doses: new Map([...sums].map(([group, { sum, n }]) => [group, sum / n])) }
}

function doseName(share: number): string {
  const above = DOSES.findLastIndex((least) => share >= least)
  if (above < 0) return `under ${inWords(DOSES[0]!)}`
  const next = DOSES[above + 1]
  return next === undefined
    ? `from ${inWords(DOSES[above]!)}`
    : `${inWords(DOSES[above]!)} to ${inWords(next)}`
}
