// A melt shop with a truth: lots that differ, scales and a spectrometer that err, and now and then a lot
// written down for another. What it tells are the steps of the fit, and the truth beside them.
import {
  type HeatStep,
  type Part,
  type Percents,
  type Source,
  STAYING,
  type Step,
} from '../../../services/metal/chemistry/fit/steps.ts'
import { type Random, randomOf } from '../../../services/plant/random.ts'

export interface Days {
  seed: number
  heats: number
  /** Of all heats, how many have a line written down for another lot. */
  swapped: number
}

export interface MeltDays {
  steps: Step[]
  sources: Map<number, Source>
  /** By heat, what a swap truly moved its sample by. Unit: percent by mass. */
  swaps: Map<number, Swap>
}

export interface Swap {
  written: number
  really: number
  shift: Percents
}

/** Of the usual order, from memory. Lots of a material differ by 12 % of each. */
const MATERIALS: Record<string, { percent: Percents; certified: boolean; part: number }> = {
  'pig iron': { percent: { P: 0.06, Cu: 0.01, Cr: 0.02, Ni: 0.02 }, certified: true, part: 0.14 },
  'steel bundles': {
    percent: { P: 0.015, Cr: 0.05, Cu: 0.1, Ni: 0.05, Mo: 0.01 },
    certified: false,
    part: 0.16,
  },
  'shredded steel': {
    percent: { P: 0.02, Cr: 0.1, Cu: 0.25, Ni: 0.08, Sn: 0.015, Mo: 0.01 },
    certified: false,
    part: 0.12,
  },
  'cast scrap': {
    percent: { P: 0.09, Cr: 0.13, Cu: 0.2, Sn: 0.02, Ni: 0.04 },
    certified: true,
    part: 0.12,
  },
}
const RETURNS_PART = 0.46
const FULL = 1_980_000
const HEEL = 440_000
const HOUR = 3_600_000
const FURNACES = [1, 2]
const CLASS: Record<string, string[]> = {
  'pig iron': ['cast scrap', 'steel bundles', 'shredded steel'],
  'steel bundles': ['shredded steel', 'pig iron', 'cast scrap'],
  'shredded steel': ['steel bundles', 'pig iron', 'cast scrap'],
  'cast scrap': ['pig iron', 'steel bundles', 'shredded steel'],
}

interface Lot {
  no: number
  material: string
  percent: Percents
  left: number
}

export function meltDays({ seed, heats, swapped }: Days): MeltDays {
  const random = randomOf(seed, 'melt days')
  const bias = Object.fromEntries(STAYING.map((e) => [e, 1 + 0.006 * random.normal(0, 1)]))
  const scale = 1 + 0.005 * random.normal(0, 1)
  const days: MeltDays = { steps: [], sources: new Map(), swaps: new Map() }
  let next = 10
  const yard = new Map<string, Lot[]>()
  const bring = (material: string, at: number): Lot => {
    const { percent, certified } = MATERIALS[material]!
    const own = vary(percent, random)
    const lot = { no: next++, material, percent: own, left: 4_000_000 }
    const analyzed = certified ? rounded(own, 3) : undefined
    const source: Source = { material, role: 'metallic', from: at, ...(analyzed && { analyzed }) }
    days.sources.set(lot.no, source)
    yard.set(material, [...(yard.get(material) ?? []), lot])
    return lot
  }
  for (const material of Object.keys(MATERIALS)) for (let i = 0; i < 2; i++) bring(material, 0)
  const bath = new Map<number, { grams: number; percent: Percents }>()
  let poured: Percents[] = []
  let returns: Lot | undefined
  for (let i = 0; i < heats; i++) {
    const at = (i + 1) * HOUR
    const furnace = FURNACES[i % 2]!
    const before = bath.get(furnace) ?? { grams: 0, percent: {} }
    const charge = FULL - before.grams
    const parts: Part[] = []
    const really: { grams: number; percent: Percents }[] = []
    const heat = 1_000_000 + i
    const swapAt = random.chance(swapped) ? random.pick(Object.keys(MATERIALS)) : undefined
    for (const [material, { part }] of Object.entries(MATERIALS)) {
      let lots = yard.get(material)!.filter(({ left }) => left > charge)
      while (lots.length < 2) lots = [...lots, bring(material, at)]
      yard.set(material, lots)
      const lot = random.pick(lots.slice(0, 2))
      const grams = charge * part * (1 + 0.03 * random.normal(0, 1))
      lot.left -= grams
      let went = lot
      if (material === swapAt) {
        went = random.pick(yard.get(random.pick(CLASS[material]!))!)
        const shift: Percents = {}
        for (const e of STAYING)
          shift[e] = (grams / FULL) * ((went.percent[e] ?? 0) - (lot.percent[e] ?? 0))
        days.swaps.set(heat, { written: lot.no, really: went.no, shift })
      }
      really.push({ grams, percent: went.percent })
      parts.push(weighed(lot.no, grams, scale, random))
    }
    if (i > 3 && (i % 8 === 0 || !returns)) {
      returns = { no: next++, material: 'returns', percent: meanOf(poured.slice(-16)), left: 0 }
      days.sources.set(returns.no, { material: 'returns', role: 'returns', from: at })
    }
    const back = returns ?? bring('cast scrap', at)
    really.push({ grams: charge * RETURNS_PART, percent: back.percent })
    parts.push(weighed(back.no, charge * RETURNS_PART, scale, random))
    if (before.grams > 0) really.push(before)
    const total = really.reduce((sum, { grams }) => sum + grams, 0)
    const percent: Percents = {}
    for (const e of STAYING)
      percent[e] = really.reduce((sum, one) => sum + (one.grams / total) * (one.percent[e] ?? 0), 0)
    poured = [...poured.slice(-40), percent]
    const left = HEEL * (1 + 0.08 * random.normal(0, 1))
    const step: HeatStep = {
      sort: 'heat',
      at,
      heat,
      furnace,
      fromEmpty: before.grams === 0,
      parts,
      tapped: (total - left) * (1 + 0.003 * random.normal(0, 1)),
      read: readOf(percent, bias, random),
    }
    // One furnace stands on a scale, the other goes by the book.
    if (furnace === 1 && before.grams > 0)
      step.heel = {
        grams: before.grams * (1 + 0.03 * random.normal(0, 1)),
        spread: 0.05 * before.grams,
      }
    days.steps.push(step)
    // Every tenth heat the furnace is drained.
    bath.set(furnace, i % 20 >= 18 ? { grams: 0, percent: {} } : { grams: left, percent })
    if (i % 20 >= 18) step.tapped = total
  }
  return days
}

function weighed(of: number, grams: number, scale: number, random: Random): Part {
  const shown = Math.round((grams * scale * (1 + 0.003 * random.normal(0, 1))) / 1000) * 1000
  return { of, grams: shown, spread: 0.005 * shown }
}

function readOf(
  percent: Percents,
  bias: Record<string, number>,
  random: Random,
): NonNullable<HeatStep['read']> {
  const read: NonNullable<HeatStep['read']> = {}
  for (const e of STAYING) {
    const true_ = percent[e] ?? 0
    const error = Math.max(0.0012, 0.008 * true_)
    const shown = Number((true_ * bias[e]! + error * random.normal(0, 1)).toFixed(3))
    // Under two thousandths the instrument only says less.
    if (shown < 0.002) continue
    read[e] = { percent: shown, spread: Math.max(0.0015, 0.01 * shown) }
  }
  return read
}

function vary(percent: Percents, random: Random): Percents {
  return Object.fromEntries(
    Object.entries(percent).map(([e, value]) => [
      e,
      value * Math.max(0.4, 1 + 0.12 * random.normal(0, 1)),
    ]),
  )
}

function rounded(percent: Percents, digits: number): Percents {
  return Object.fromEntries(
    Object.entries(percent).map(([e, value]) => [e, Number(value.toPrecision(digits))]),
  )
}

function meanOf(list: readonly Percents[]): Percents {
  return Object.fromEntries(
    STAYING.map((e) => [e, list.reduce((sum, one) => sum + (one[e] ?? 0), 0) / list.length]),
  )
}
