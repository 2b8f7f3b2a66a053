// Castings that go back into the melt, as metal of the pours they are of.
import type { Grams, Ms } from '../../events/fact.ts'
import { makeupOf } from './contents.ts'
import type { Floor } from './floor.ts'

/** Of what pour thrown-back castings are, in castings; pour absent: nobody can say. */
export interface MassWeight {
  pour?: number
  castings: number
  castingGrams?: Grams
}

/** Part of some metal, by mass, and what that comes to where anything tells the weight of a casting. */
export interface PourShare {
  pour: number
  share: number
  grams?: Grams
}

/** What a thing is or was made of, by pour and weight of a casting. */
export function massWeightsOf(floor: Floor, thing: number, at?: Ms): MassWeight[] {
  const { mixing, pours } = floor.flow
  const weights: MassWeight[] = []
  for (const [slot, castings] of mixing.leavesOf(makeupOf(floor, thing, at))) {
    const weight: MassWeight = { castings }
    const pour = mixing.pourOf(slot)
    const grams = pour === undefined ? undefined : pours.get(pour)?.gramsOf(slot)
    if (pour !== undefined) weight.pour = pour
    if (grams !== undefined) weight.castingGrams = grams
    weights.push(weight)
  }
  return weights
}

/** Together at most 1: the rest is of unknown origin. Castings nobody weighed count as the mean of the others. */
export function sharesOf(weights: readonly MassWeight[]): PourShare[] {
  const known = weights.filter(({ castingGrams }) => castingGrams !== undefined)
  const counted = known.reduce((sum, { castings }) => sum + castings, 0)
  const mean = counted > 0 ? massOf(known, 0) / counted : 1
  const all = massOf(weights, mean)
  const shares = new Map<number, number>()
  for (const weight of weights) {
    if (weight.pour === undefined) continue
    shares.set(weight.pour, (shares.get(weight.pour) ?? 0) + massOf([weight], mean) / all)
  }
  return [...shares].map(([pour, share]) =>
    counted > 0 ? { pour, share, grams: share * all } : { pour, share },
  )
}

function massOf(weights: readonly MassWeight[], unweighed: Grams): Grams {
  return weights.reduce(
    (sum, { castings, castingGrams }) => sum + castings * (castingGrams ?? unweighed),
    0,
  )
}
