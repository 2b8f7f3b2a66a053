// A synthetic plant for the benches of the ledger: five furnaces that keep a heel, charges with two lots
// of returns made of earlier pours, alloys, four taps a heat, ladles with inoculant. Everything about a
// heat follows from its number, so nothing is kept but slot and cell numbers.

import { keep, type Ops, open, set, UNRECORDED } from '../../services/metal/ledger/writing.ts'
import { Ledger } from '../../services/metal/ledger.ts'

const FURNACES = 5
const STEELS = 40
const TAPS = 4
const RAW = 6
const HEAT_MS = 15 * 60_000
const EPOCH = Date.UTC(2019, 0, 7)
/** Heats a raw lot lasts, by stream. */
const LASTS = [40, 55, 70, 90, 120, 160, 400, 250]
/** Heats one lot of returns lasts, pours thrown into it, and how many heats it waits. */
const RETURNS = { lasts: 10, pours: 24, waits: 60 }

/** What one vessel did in one go. */
export interface Made {
  /** Number of the heat, where it is one. */
  heat: number | undefined
  vessel: number | undefined
  at: number
  since: number
  ops: Ops
}

export class SyntheticPlant {
  readonly ledger: Ledger
  readonly heats: number
  /** Pairs handed to `write`. */
  ops = 0
  /** First slot of each heat: its taps, then its pours. */
  readonly #slots: Int32Array
  readonly #cells: Int32Array
  readonly #returns: Int32Array
  readonly #lots: Int32Array[]
  readonly #furnaces: number[]
  readonly #steels: number[]

  constructor(heats: number) {
    const ledger = new Ledger()
    this.ledger = ledger
    this.heats = heats
    this.#furnaces = Array.from({ length: FURNACES }, () => ledger.vessel())
    this.#steels = Array.from({ length: STEELS }, () => ledger.vessel())
    this.#lots = LASTS.map((lasts) =>
      Int32Array.from({ length: 1 + Math.floor(heats / lasts) }, () => ledger.leaf()),
    )
    this.#returns = Int32Array.from({ length: 2 + 2 * Math.floor(heats / RETURNS.lasts) }, () =>
      ledger.slot(),
    )
    this.#slots = new Int32Array(heats)
    this.#cells = new Int32Array(heats)
    for (let heat = 0; heat < heats; heat++) {
      this.#slots[heat] = ledger.slot()
      for (let k = 1; k < 2 * TAPS; k++) ledger.slot()
    }
  }

  /** Writes all it made, in the order of its making unless another is told, and sorts it. */
  load(made: Iterable<Made> = this.made()): void {
    for (const one of made) this.write(one)
    this.ledger.compact()
  }

  write({ heat, vessel, at, since, ops }: Made): void {
    const key = { at, tie: 0 }
    const cell = this.ledger.cell(vessel === undefined ? key : { ...key, vessel })
    this.ledger.write(cell, since, ops)
    this.ops += ops.length / 2
    if (heat !== undefined) this.#cells[heat] = cell
  }

  /** All it made, in the order of its making. */
  *made(): Iterable<Made> {
    for (let heat = 0; heat < this.heats; heat++) {
      if (heat % RETURNS.lasts === 0)
        for (const k of [0, 1] as const) yield this.#returnsOf(heat, k)
      yield this.heat(heat)
      for (let tap = 0; tap < TAPS; tap++) yield this.ladle(heat, tap)
    }
  }

  /** All of it once more, heats charged by another weight. */
  *remade(factor: number): Iterable<Made & { cell: number }> {
    let cell = 0
    for (const made of this.made()) {
      const { heat } = made
      yield { ...(heat === undefined ? made : this.heat(heat, factor)), cell: cell++ }
    }
  }

  cellOf(heat: number): number {
    return this.#cells[heat]!
  }

  tapSlot(heat: number, tap: number): number {
    return this.#slots[heat]! + tap
  }

  pourSlot(heat: number, tap: number): number {
    return this.#slots[heat]! + TAPS + tap
  }

  /** Raw lot of a stream at a heat; the last two streams are alloys, then comes the inoculant. */
  lot(stream: number, heat: number): number {
    return this.#lots[stream]![Math.floor(heat / LASTS[stream]!)]!
  }

  /** One of the two lots of returns that a heat melts. */
  returns(heat: number, k: 0 | 1): number {
    return this.#returns[2 * Math.floor(heat / RETURNS.lasts) + k]!
  }

  /** A heat: its charge on what the furnace kept, its alloys, its taps; `factor` weighs it anew. */
  heat(heat: number, factor = 1): Made {
    const vessel = this.#furnaces[heat % FURNACES]!
    const chance = random(heat)
    const ops: Ops = [...open(vessel)]
    if (chance() < 0.3) ops.push(...set(2_600_000 + grams(chance, 800_000), 400_000))
    for (let stream = 0; stream < RAW; stream++) {
      ops.push(this.lot(stream, heat), Math.round(factor * (700_000 + grams(chance, 300_000))))
    }
    for (const k of [0, 1] as const) {
      ops.push(this.returns(heat, k), 1_000_000 + grams(chance, 300_000))
    }
    if (chance() < 0.5) ops.push(this.lot(0, Math.max(0, heat - LASTS[0]!)), 200_000)
    ops.push(this.lot(6, heat), 20_000 + grams(chance, 9_000), this.lot(7, heat), 9_000)
    for (let tap = 0; tap < TAPS; tap++) {
      ops.push(this.tapSlot(heat, tap), -(1_650_000 + grams(chance, 200_000)))
    }
    const at = EPOCH + heat * HEAT_MS
    return { heat, vessel, at, since: at + 60_000 + grams(chance, 3_600_000), ops }
  }

  /** A ladle filling: the tap, the inoculant, the pour. */
  ladle(heat: number, tap: number): Made {
    const vessel = this.#steels[(heat * TAPS + tap) % STEELS]!
    const chance = random(-1 - (heat * TAPS + tap))
    const ops: Ops = [...open(vessel), ...(chance() < 0.5 ? set(0) : keep())]
    const tapped = 1_650_000 + grams(chance, 200_000)
    ops.push(this.tapSlot(heat, tap), tapped, this.lot(7, heat), 3_500)
    ops.push(this.pourSlot(heat, tap), -Math.round(tapped * (0.97 + 0.03 * chance())))
    // The clock of the pouring floor runs up to ten minutes ahead or behind.
    const skew = 1000 * Math.round(600 * Math.sin(heat / 700))
    const at = EPOCH + heat * HEAT_MS + (tap + 1) * 120_000 + skew
    const since = at + 60_000 + grams(chance, 900_000)
    return { heat: undefined, vessel, at, since, ops }
  }

  // Gates and runners of pours of some while ago, melted again from this heat on.
  #returnsOf(heat: number, k: 0 | 1): Made {
    const chance = random(7_000_000 + 2 * heat + k)
    const ops: Ops = []
    let held = 0
    for (let n = 0; n < RETURNS.pours; n++) {
      const from = heat - RETURNS.waits + Math.floor(n / 2)
      if (from < 0) continue
      const amount = 300_000 + grams(chance, 100_000)
      ops.push(this.pourSlot(from, (n + 2 * k) % TAPS), amount)
      held += amount
    }
    if (held === 0) {
      held = 8_000_000
      ops.push(UNRECORDED, held)
    }
    ops.push(this.returns(heat, k), -held)
    const at = EPOCH + (heat - 2) * HEAT_MS
    return { heat: undefined, vessel: undefined, at, since: at + 3_600_000, ops }
  }
}

/** Chances that follow from a number. The generator is mulberry32, public domain. */
export function random(seed: number): () => number {
  let state = Math.imul(seed ^ 0x5bd1e995, 0x9e3779b1)
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

function grams(chance: () => number, most: number): number {
  return Math.floor(chance() * most)
}
