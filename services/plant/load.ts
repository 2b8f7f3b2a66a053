// Castings handled together, and the words every station uses for them.

import { FLAWS, type Flaw } from './casting-truth.ts'
import { type Bell, MINUTE, type Rack } from './clock.ts'
import type { ProductId } from './products.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import type { World } from './world.ts'

/** A load as it stands between two steps. */
export interface Load {
  load: string
  line: 'a' | 'b'
  castings: number[]
  /** When it came to where it stands. */
  since: number
}

/** Some castings taken out of a load at a step. */
export interface Removed {
  castings: number[]
  fate: 'scrap' | 'rework' | 'sample'
  defect?: Flaw
  into?: string
}

export function productsOf(world: World, castings: readonly number[]): Map<ProductId, number[]> {
  const products = new Map<ProductId, number[]>()
  let product: ProductId | undefined
  let same: number[] = []
  for (const casting of castings) {
    const own = world.truth.castings.unitOf(casting).product as ProductId
    if (own !== product) {
      product = own
      same = products.get(own) ?? []
      if (same.length === 0) products.set(own, same)
    }
    same.push(casting)
  }
  return products
}

/** The product of a load, where it has but one. */
export function onlyProduct(world: World, castings: readonly number[]): ProductId | undefined {
  const product = (casting: number) => world.truth.castings.unitOf(casting).product as ProductId
  const first = castings[0]
  if (first === undefined) return undefined
  return castings.every((casting) => product(casting) === product(first))
    ? product(first)
    : undefined
}

/** One line of `removed` for each product, in the words of the report. */
export function removedLines(world: World, removed: readonly Removed[]): Given[] {
  return removed.flatMap(({ castings, fate, defect, into }) =>
    [...productsOf(world, castings)].map(([product, some]) => ({
      castings: some.length,
      fate,
      ...(defect ? { defect } : {}),
      product,
      ...(into ? { into } : {}),
    })),
  )
}

/** Those of a load in whom an eye finds a flaw, one flaw each; `sees` is the chance that it does. */
export function found(
  world: World,
  random: Random,
  castings: readonly number[],
  sees: Partial<Record<Flaw, number>>,
): Map<Flaw, number[]> {
  const flawed = new Map<Flaw, number[]>()
  for (const casting of castings) {
    if (world.truth.castings.isSound(casting)) continue
    for (const flaw of FLAWS) {
      const chance = sees[flaw]
      if (
        chance === undefined ||
        !world.truth.castings.has(casting, flaw) ||
        !random.chance(chance)
      )
        continue
      const same = flawed.get(flaw)
      if (same) same.push(casting)
      else flawed.set(flaw, [casting])
      break
    }
  }
  return flawed
}

/** Without some castings, in place. */
export function remove(load: Load, castings: readonly number[]): void {
  const gone = new Set(castings)
  load.castings = load.castings.filter((casting) => !gone.has(casting))
}

/** What a step reports beside the load itself. */
export interface Step {
  machine: string
  castingsIn?: number
  sources?: Given[] | undefined
  removed?: readonly Removed[]
  /** Unit: ms. */
  began: number
}

/** The part of a report that every step of a load has in common. */
export function stepFields(world: World, station: Station, load: Load, step: Step): Given {
  const removed = removedLines(world, step.removed ?? [])
  return {
    load: load.load,
    machine: step.machine,
    sources: step.sources,
    product: onlyProduct(world, load.castings),
    castings: load.castings.length,
    castingsIn: step.castingsIn,
    removed: removed.length > 0 ? removed : undefined,
    startedAt: station.time(step.began),
    endedAt: station.time(world.clock.now),
  }
}

/** The next load that waits, once somebody is there to take it and it has been brought. */
export function* nextLoad(
  world: World,
  random: Random,
  rack: Rack<Load>,
  afterMinutes: number,
): Generator<number | Bell, Load, void> {
  for (;;) {
    yield* world.shift(afterMinutes)
    const load = rack.things.shift()
    if (load) {
      yield random.between(2, 5) * MINUTE
      return load
    }
    yield rack.bell
  }
}
