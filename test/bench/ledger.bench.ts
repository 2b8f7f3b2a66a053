// Measures the ledger against what the machine can do: a plain sweep over the same pairs in the same run.
// Sweeps are timed in CPU time of this thread, so that other work on the machine does not count; late
// writes by the clock on the wall, those left out during which the system ran something else.
// npm run prove takes it in; by itself: node test/bench/ledger.bench.ts [heats …]

import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { open } from '../../services/metal/ledger/writing.ts'
import { type Finding, report } from './finding.ts'
import { random, SyntheticPlant } from './plant-ledger.ts'

const ROUNDS = 9
const LATE = 500
/** A timing sweeps as often as makes this many ops: the clock of CPU time is coarse. */
const BATCH_OPS = 20_000_000
const DAY_MS = 86_400_000

/** Measures a ledger of this many heats. */
export function measureLedger(heats: number): Finding[] {
  const findings: Finding[] = []
  const note: Note = (what, measured, unit, limit) => {
    const shown = (value: number) => `${Number(value.toPrecision(3))}${unit}`
    const pass = measured <= limit
    findings.push({ what, measured: shown(measured), limit: `≤ ${shown(limit)}`, pass })
  }
  // Compiled code and the like are no part of a ledger.
  new SyntheticPlant(1_000).load()
  const before = bytes()
  const plant = new SyntheticPlant(heats)
  const started = performance.now()
  plant.load()
  const loadedMs = Math.round(performance.now() - started)
  note(
    'memory, slot numbers of the bench included',
    (bytes() - before) / plant.ops,
    ' bytes an op',
    12,
  )
  const took = measureSweeps(plant, note)
  findings.unshift({
    what: `${heats.toLocaleString('en')} heats, ${(plant.ops / 1e6).toPrecision(3)} M ops`,
    measured: `loaded and sorted in ${loadedMs} ms; ${took}`,
    limit: '',
    pass: true,
  })
  const then = plant.heat(heats - 1).since + DAY_MS
  const lot = plant.lot(2, Math.floor(heats / 2))
  const said = plant.ledger.forward([[lot, 1]])
  measureLate(plant, then, note)
  measurePast(plant, { then, lot, said }, note)
  return findings
}

type Note = (what: string, measured: number, unit: string, limit: number) => void

function measureSweeps(plant: SyntheticPlant, note: Note): string {
  const { ledger, heats } = plant
  const pairs = flat(plant)
  const shares = new Float64Array(ledger.forward([]).length)
  const times = Math.ceil(BATCH_OPS / plant.ops)
  const lots = Array.from({ length: 8 }, (_, k) => plant.lot(k % 6, Math.floor((k * heats) / 8)))
  const pour = plant.pourSlot(heats - 2, 1)
  const plain: number[] = []
  const back: number[] = []
  const both: number[] = []
  const forward = lots.map((): number[] => [])
  for (let round = 0; round < ROUNDS; round++) {
    plain.push(cpuMs(times, () => plainSweep(pairs, shares, lots[0]!)))
    for (const [k, lot] of lots.entries()) {
      forward[k]!.push(cpuMs(times, () => ledger.forward([[lot, 1]])))
    }
    back.push(cpuMs(times, () => ledger.backward([[pour, 1]])))
    both.push(cpuMs(times, () => ledger.follow([lots[0]!], { gapsFrom: 0 })))
  }
  const floor = median(plain)
  const worst = Math.max(...forward.map(median))
  note('exact forward, worst lot, of a plain sweep', worst / floor, '×', 3.5)
  note('exact backward, all lots of the last pour, of a plain sweep', median(back) / floor, '×', 6)
  note('best, both ends and gaps in one walk, of a plain sweep', median(both) / floor, '×', 12)
  const [p, f, b] = [floor, worst, median(back)].map((ms) => `${ms.toPrecision(3)} ms`)
  return `plain sweep ${p}, forward ${f}, backward ${b}`
}

/** What to time, and whether the next sweep shows it. */
interface LateWrite {
  write: () => void
  isSeen: () => boolean
}

function measureLate(plant: SyntheticPlant, then: number, note: Note): void {
  const { ledger, heats } = plant
  const chance = random(1)
  let since = then
  const shareIn = (heat: number, slot: number) => ledger.forward([[plant.lot(0, heat), 1]])[slot]!

  const lateTap = (heat: number): LateWrite => {
    const [tap, poured] = [ledger.slot(), ledger.slot()]
    const { ops, at } = plant.heat(heat)
    since++
    return {
      write: () => {
        ledger.write(plant.cellOf(heat), since, [...ops, tap, -50_000])
        const filling = ledger.cell({ at: at + 600_000, tie: 9 })
        ledger.write(filling, since, [tap, 50_000, poured, -50_000])
      },
      isSeen: () => shareIn(heat, poured) > 0,
    }
  }
  const correction = (heat: number): LateWrite => {
    const { ops } = plant.heat(heat, 1.02 + (++since - then) / 1e6)
    const share = shareIn(heat, plant.tapSlot(heat, 0))
    return {
      write: () => ledger.write(plant.cellOf(heat), since, ops),
      isSeen: () => shareIn(heat, plant.tapSlot(heat, 0)) !== share,
    }
  }
  const otherReturns = (heat: number): LateWrite => {
    const { ops } = plant.heat(heat)
    const later = plant.returns(Math.min(heat + 10, plant.heats - 1), 1)
    since++
    return {
      write: () =>
        ledger.write(plant.cellOf(heat), since, [
          ...ops.slice(0, 2),
          later,
          1_000_000,
          ...ops.slice(2),
        ]),
      isSeen: () => ledger.backward([[plant.tapSlot(heat, 0), 1]]).through[later]! > 0,
    }
  }
  const lateHeat = (heat: number): LateWrite => {
    const [tap, poured] = [ledger.slot(), ledger.slot()]
    const { at, vessel } = plant.heat(heat)
    since++
    return {
      write: () => {
        const melted = ledger.cell({ at: at + 1_800_000, tie: 0, vessel: vessel! })
        const charge = [plant.lot(0, heat), 700_000, plant.lot(1, heat), 300_000]
        ledger.write(melted, since, [...open(vessel!), ...charge, tap, -900_000])
        const filling = ledger.cell({ at: at + 2_000_000, tie: 0 })
        ledger.write(filling, since, [tap, 900_000, poured, -900_000])
      },
      isSeen: () => shareIn(heat, poured) > 0,
    }
  }

  for (const [what, make] of [
    ['late tap into an old heat', lateTap],
    ['correction of an old heat', correction],
    ['late heat among old ones', lateHeat],
    ['old heat charged with returns of two hours later', otherReturns],
  ] as const) {
    const times: number[] = []
    let unseen = 0
    for (let k = 0; k < LATE; k++) {
      const { write, isSeen } = make(Math.floor(chance() * heats))
      const switches = process.resourceUsage().involuntaryContextSwitches
      const started = performance.now()
      write()
      const ms = performance.now() - started
      if (process.resourceUsage().involuntaryContextSwitches === switches) times.push(ms)
      if (k % 25 === 0 && !isSeen()) unseen++
    }
    note(`${what}, median of ${times.length}`, median(times), ' ms', 1)
    note(`${what}, 99 of 100`, quantile(times, 0.99), ' ms', 1)
    note(`${what}, not shown by the next sweep`, unseen, '', 0)
  }
}

interface Said {
  then: number
  lot: number
  said: Float64Array
}

function measurePast(plant: SyntheticPlant, { then, lot, said }: Said, note: Note): void {
  const { ledger } = plant
  const chance = random(2)
  const since = then + DAY_MS
  const times = Math.ceil(BATCH_OPS / plant.ops / 2)
  for (const [name, part] of [
    ['one in a hundred corrected', 0.01],
    ['everything corrected once', 1],
  ] as const) {
    for (const { cell, ops } of plant.remade(1.01)) {
      if (chance() < part) ledger.write(cell, since + part, ops)
    }
    const now: number[] = []
    const past: number[] = []
    for (let round = 0; round < ROUNDS; round++) {
      now.push(cpuMs(times, () => ledger.forward([[lot, 1]])))
      past.push(cpuMs(times, () => ledger.forward([[lot, 1]], { asOf: then })))
    }
    note(`as of then, ${name}, of now`, median(past) / median(now), '×', 4)
    const shown = ledger.forward([[lot, 1]], { asOf: then })
    const other = said.reduce((n, share, slot) => n + +(share !== shown[slot]), 0)
    note(`slots other than said then, ${name}`, other, '', 0)
  }
}

// The least any exact sweep has to do: read every pair, gather where it pours in, write where it taps.
function plainSweep(pairs: Int32Array, shares: Float64Array, lot: number): void {
  shares.fill(0)
  shares[lot] = 1
  let sum = 0
  for (let i = 0; i < pairs.length; i += 2) {
    const slot = pairs[i]!
    const amount = pairs[i + 1]!
    if (amount < 0) {
      shares[slot] = sum * 1e-7
      sum = 0
    } else sum += amount * shares[slot]!
  }
}

// The pairs as the ledger holds them, head and all, with control pairs as gathers from slot 0.
function flat(plant: SyntheticPlant): Int32Array {
  const words: number[] = []
  for (const { vessel, ops } of plant.made()) {
    if (vessel === undefined) words.push(0, 0)
    for (let i = 0; i < ops.length; i += 2) {
      if (ops[i]! < 0) words.push(0, 0)
      else words.push(ops[i]!, ops[i + 1]!)
    }
  }
  return Int32Array.from(words)
}

function cpuMs(times: number, what: () => void): number {
  const started = process.threadCpuUsage()
  for (let k = 0; k < times; k++) what()
  const { user, system } = process.threadCpuUsage(started)
  return (user + system) / 1000 / times
}

function quantile(values: number[], q: number): number {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))]!
}

function median(values: number[]): number {
  return quantile(values, 0.5)
}

function bytes(): number {
  setFlagsFromString('--expose-gc')
  const collect = runInNewContext('gc') as () => void
  collect()
  collect()
  const { heapUsed, arrayBuffers } = process.memoryUsage()
  return heapUsed + arrayBuffers
}

if (import.meta.main) {
  const asked = process.argv.slice(2).map(Number)
  for (const heats of asked.length > 0 ? asked : [25_000, 250_000]) report(measureLedger(heats))
}
