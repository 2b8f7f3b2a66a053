// Inspections as rows of a table: what was looked at and found, and what each lot of castings is made
// of, by pours and by the loads of every step it went through before.
import type { Ms } from '../../events/fact.ts'
import type { HandlingView } from '../../metal/castings.ts'
import type { View } from '../../metal/followed.ts'
import { compareTexts } from '../../metal/things.ts'
import type { Inspected, Makeup } from '../../stats/causes/table.ts'
import { listed } from '../estimate.ts'

/** The GraphQL input DefectQuestion. */
export interface DefectQuestion {
  stage: string
  defects?: string[] | null
  product?: string | null
  window: { from: number; to: number }
}

/** Castings of one inspection. */
export interface Row {
  at: Ms
  product: string
  things: number[]
  castings: number
  defective: number
}

/** Castings of one pour, product and cavity. */
export interface PouredUnit {
  slot: number
  pour: number
  product: string
  cavity: string
}

export interface LookedAt {
  rows: Row[]
  /** Units of the first makeup. */
  units: PouredUnit[]
  /** Steps in the order of the work, and the loads that are the units of their makeup. */
  steps: { step: string; handlings: HandlingView[] }[]
  inspected: Inspected
}

/** What of a row is less than this is left out. */
const LEAST_PART = 1e-4

export function lookedAt(view: View, plant: string, about: DefectQuestion): LookedAt {
  return madeOf(view, plant, rowsOf(view, plant, about))
}

/** Rows with what their castings are made of. */
export function madeOf(view: View, plant: string, rows: Row[]): LookedAt {
  const units = unitsOf(view)
  const unitAt = new Map(units.map(({ slot }, unit) => [slot, unit]))
  const steps = stepsOf(view, plant)
  const ofUnits = new MakeupWriter()
  const ofSteps = steps.map(() => new MakeupWriter())
  for (const row of rows) {
    const { rest, through } = backFrom(view, row)
    ofUnits.row(partsOf(rest, unitAt))
    for (const [s, { bySlot, handlings }] of steps.entries())
      ofSteps[s]!.row(partsOf(through, bySlot, ({ from }) => from < row.at, handlings))
  }
  const products = [...new Set(rows.map(({ product }) => product))]
  return {
    rows,
    units,
    steps: steps.map(({ step, handlings }) => ({ step, handlings })),
    inspected: {
      castings: Float64Array.from(rows, ({ castings }) => castings),
      defective: Float64Array.from(rows, ({ defective }) => defective),
      stratum: Int32Array.from(rows, ({ product }) => products.indexOf(product)),
      makeups: [ofUnits, ...ofSteps].map((writer) => writer.makeup()),
    },
  }
}

/** By name: numbers of things differ from database to database, and sums with the order they are made in. */
function unitsOf(view: View): PouredUnit[] {
  const bySlot = new Map<number, { unit: PouredUnit; name: string }>()
  for (const { slot, pour, product, cavity } of view.castings.units())
    if (!bySlot.has(slot)) {
      const name = [view.things.name(pour), product, cavity].join(' ')
      bySlot.set(slot, { unit: { slot, pour, product, cavity }, name })
    }
  return [...bySlot.values()].sort((a, b) => compareTexts(a.name, b.name)).map(({ unit }) => unit)
}

/** One row an inspection, though it may have been of several things. */
function rowsOf(view: View, plant: string, { stage, defects, product, window }: DefectQuestion) {
  const rows = new Map<string, Row>()
  for (const { fact } of view.book.all('inspected', view.asOf)) {
    if (fact.stage !== stage || fact.at < window.from || fact.at >= window.to) continue
    if (product != null && fact.product !== product) continue
    if (view.things.plant(fact.of) !== plant || fact.castings <= 0) continue
    const row = rows.get(fact.inspection)
    if (row) {
      row.things.push(fact.of)
      continue
    }
    const counted = view.book
      .of(fact.of, 'defect-found', view.asOf)
      .filter(({ fact: one }) => one.inspection === fact.inspection)
      .filter(({ fact: one }) => !defects || defects.includes(one.defect))
      .reduce((sum, { fact: one }) => sum + one.castings, 0)
    rows.set(fact.inspection, {
      at: fact.at,
      product: fact.product ?? '',
      things: [fact.of],
      castings: fact.castings,
      defective: Math.min(fact.castings, defects ? counted : (fact.defective ?? counted)),
    })
  }
  const named = (a: number, b: number) => compareTexts(view.things.name(a), view.things.name(b))
  for (const { things } of rows.values()) things.sort(named)
  return [...rows]
    .sort(([a, one], [b, other]) => one.at - other.at || compareTexts(a, b))
    .map(([, row]) => row)
}

function add<K>(sums: Map<K, number>, key: K, more: number): void {
  sums.set(key, (sums.get(key) ?? 0) + more)
}

/** Where the castings of a row came from and what they went through. */
function backFrom(view: View, { things, at, product }: Row) {
  const held = things
    .flatMap((no) => view.castings.slotsOf(no, at))
    .filter((content) => product === '' || content.product === '' || content.product === product)
  const castings = held.reduce((sum, content) => sum + content.castings, 0)
  return view.castings.ledger.backward(
    castings > 0 ? held.map(({ slot, castings: n }): [number, number] => [slot, n / castings]) : [],
  )
}

interface StepLoads {
  step: string
  handlings: HandlingView[]
  bySlot: Map<number, number>
}

function stepsOf(view: View, plant: string): StepLoads[] {
  const steps = new Map<string, StepLoads>()
  const all = [...view.castings.handlings()].sort(
    (a, b) =>
      a.from - b.from ||
      compareTexts(view.things.name(a.load), view.things.name(b.load)) ||
      a.pass - b.pass,
  )
  for (const handling of all) {
    if (view.things.plant(handling.load) !== plant) continue
    const { step, slots } = handling
    const loads: StepLoads = steps.get(step) ?? { step, handlings: [], bySlot: new Map() }
    steps.set(step, loads)
    const no = loads.handlings.push(handling) - 1
    for (const slot of slots) loads.bySlot.set(slot, no)
  }
  return [...steps.values()]
}

/** Parts of a row by unit, at most 1 in all. */
function partsOf(
  weights: Float64Array,
  unitAt: ReadonlyMap<number, number>,
  counts?: (handling: HandlingView) => boolean,
  handlings: readonly HandlingView[] = [],
): Map<number, number> {
  const parts = new Map<number, number>()
  let all = 0
  for (let slot = 1; slot < weights.length; slot++) {
    if (weights[slot]! < LEAST_PART) continue
    const unit = unitAt.get(slot)
    if (unit === undefined || (counts && !counts(handlings[unit]!))) continue
    add(parts, unit, weights[slot]!)
    all += weights[slot]!
  }
  // Castings that went through a step twice count for each of their loads.
  if (all > 1) for (const [unit, part] of parts) parts.set(unit, part / all)
  return parts
}

class MakeupWriter {
  readonly #start = [0]
  readonly #unit: number[] = []
  readonly #part: number[] = []

  row(parts: ReadonlyMap<number, number>): void {
    for (const [unit, part] of [...parts].sort(([a], [b]) => a - b)) {
      this.#unit.push(unit)
      this.#part.push(part)
    }
    this.#start.push(this.#unit.length)
  }

  makeup(): Makeup {
    return {
      start: Int32Array.from(this.#start),
      unit: Int32Array.from(this.#unit),
      part: Float64Array.from(this.#part),
    }
  }
}

/** What is wrong with a question that finds nothing looked at, in a sentence. */
export function notLookedAt(view: View, { stage }: DefectQuestion): string {
  const stages = new Set(view.book.all('inspected', view.asOf).map(({ fact }) => fact.stage))
  return stages.has(stage)
    ? `No castings were looked at in stage ${stage} in this window: ask for a longer one.`
    : `Nothing was looked at in a stage called ${stage}: stages in the record are ${listed([...stages].sort(), 12)}.`
}

/** A caution on every rate of one stage. */
export const SURVIVORS = {
  code: 'survivors',
  sentence:
    'The rate is that of castings that passed the looks before this stage; those taken out earlier are not in it.',
}
