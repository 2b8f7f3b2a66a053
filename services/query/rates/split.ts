// What rates are split by: of each row of castings, which part belongs to which group.
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import type { LookedAt, PouredUnit } from '../causes/looked-at.ts'
import { type Behind, behindOf } from '../causes/poured-factors.ts'
import { inWords } from '../estimate.ts'
import { type InMetal, recipesIn, sharesOf } from './in-metal.ts'
import { dayOf, shiftOf } from './plant-time.ts'

/** Splits by how much of something is in the metal. */
export const DOSED = ['LOT', 'SUPPLIER', 'MATERIAL'] as const
export type Dosed = (typeof DOSED)[number]

export type RateBy =
  | Dosed
  | 'RECIPE'
  | 'FURNACE'
  | 'LINE'
  | 'PATTERN'
  | 'CAVITY'
  | 'PRODUCT'
  | 'DAY'
  | 'SHIFT'
  | 'MACHINE'

/** How castings are split, whatever is looked at. */
export interface SplitArgs {
  by: RateBy[]
  against?: string | null
  ownMetal: number
  lot?: string | null
  supplier?: string | null
  material?: string | null
  shifts: string[]
  step?: string | null
  /** PRODUCT where an older number of an answer does not say. */
  adjustFor?: RateBy[]
  withoutMisfits: boolean
  asOf?: number | null
}

/** What is asked beside the castings themselves. */
export interface Splitting {
  /** A pour is of a recipe from this part of its metal on. */
  ownMetal: number
  /** Lots that are followed together, by their numbers in the record, and what they are called. */
  dosed: Partial<Record<Dosed, { name: string; lots: readonly number[] }>>
  /** When shifts begin, as HH:MM in rising order. */
  shifts: readonly string[]
  /** Of MACHINE: the machines of this step. */
  step?: string
}

/** A group of each unit of one makeup; undefined where the unit belongs to none. */
export interface Split {
  /** Which makeup of the castings its units are of. */
  makeup: number
  groups: (string | undefined)[]
  /** Of doses: the mean share of each group. */
  doses?: Map<string, number>
  /** Of splits by metal: how much of each is in which pour. */
  metal?: InMetal[]
  /** Of RECIPE: units whose metal is recorded, and too mixed for any group. */
  mixed?: boolean[]
}

/** Undefined where the record has no such step. */
export function splitBy(
  view: View,
  plant: string,
  { units, steps }: LookedAt,
  by: RateBy,
  asked: Splitting,
): Split | undefined {
  switch (by) {
    case 'MACHINE': {
      const s = steps.findIndex(({ step }) => step === asked.step)
      if (s < 0) return undefined
      return { makeup: s + 1, groups: steps[s]!.handlings.map(({ machine }) => machine) }
    }
    case 'RECIPE':
      return byRecipe(view, plant, units, asked.ownMetal)
    case 'LOT':
    case 'SUPPLIER':
    case 'MATERIAL': {
      const { name, lots } = asked.dosed[by]!
      return byDose(units, { name, byPour: sharesOf(view, lots) })
    }
    default: {
      const groupOf = GROUP[by]
      const behind = behindAll(view, units)
      return {
        makeup: 0,
        groups: units.map((unit) => groupOf(unit, behind.get(unit.pour)!, view, asked.shifts)),
      }
    }
  }
}

/** What stands behind each pour. */
export function behindAll(view: View, units: readonly PouredUnit[]): Map<number, Behind> {
  const behind = new Map<number, Behind>()
  for (const { pour } of units) kept(behind, pour, () => behindOf(view, pour))
  return behind
}

type GroupOf = (
  unit: PouredUnit,
  behind: Behind,
  view: View,
  shifts: readonly string[],
) => string | undefined

const GROUP: Record<Exclude<RateBy, 'MACHINE' | 'RECIPE' | Dosed>, GroupOf> = {
  FURNACE: (_, { tapped }, view) => bare(view, tapped?.via),
  LINE: (_, { poured }, view) => bare(view, poured?.via),
  PATTERN: (_, { run }) => run?.pattern,
  CAVITY: ({ cavity, product }) => (cavity ? `${cavity} of ${product}` : undefined),
  PRODUCT: ({ product }) => product || undefined,
  DAY: (_, { poured }) => poured && dayOf(poured),
  SHIFT: (_, { poured }, __, shifts) => poured && shiftOf(poured, shifts),
}

export function bare(view: View, no: number | undefined): string | undefined {
  return no === undefined ? undefined : view.things.name(no).replace(/^[a-z]+:/, '')
}

/** Of each pour the recipe revision that its own metal was charged by; a recipe washes in through the heel. */
function byRecipe(
  view: View,
  plant: string,
  units: readonly PouredUnit[],
  ownMetal: number,
): Split {
  const metal = recipesIn(view, plant)
  const ofPour = new Map<number, string>()
  for (const { name, byPour } of metal)
    for (const [pour, share] of byPour) if (share >= ownMetal) ofPour.set(pour, name)
  const reported = new Map<number, boolean>()
  const isReported = (pour: number) =>
    kept(reported, pour, () => view.book.of(pour, 'poured', view.asOf).length > 0)
  return {
    makeup: 0,
    metal,
    groups: units.map(({ pour }) => ofPour.get(pour)),
    mixed: units.map(({ pour }) => !ofPour.has(pour) && isReported(pour)),
  }
}

/** Shares at which doses are told apart: few enough that each group has castings, wide as shares are. */
export const DOSES = [1e-3, 1e-2, 3e-2, 1e-1]

function byDose(units: readonly PouredUnit[], metal: InMetal): Split {
  const share = (pour: number) => metal.byPour.get(pour) ?? 0
  const groups = units.map(({ pour }) => doseName(share(pour)))
  const sums = new Map<string, { sum: number; n: number }>()
  for (const [i, { pour }] of units.entries()) {
    const one = kept(sums, groups[i]!, () => ({ sum: 0, n: 0 }))
    one.sum += share(pour)
    one.n++
  }
  const doses = new Map([...sums].map(([group, { sum, n }]) => [group, sum / n]))
  return { makeup: 0, groups, doses, metal: [metal] }
}

/** Of a share, or of the place among DOSES that it reaches. */
function doseName(share: number): string {
  return doseNames()[DOSES.findLastIndex((least) => share >= least) + 1]!
}

/** In rising order: under the first of DOSES, then from each of them on. */
export function doseNames(): string[] {
  return [
    `under ${inWords(DOSES[0]!)}`,
    ...DOSES.map((least, i) => {
      const next = DOSES[i + 1]
      return next === undefined ? `from ${inWords(least)}` : `${inWords(least)} to ${inWords(next)}`
    }),
  ]
}
