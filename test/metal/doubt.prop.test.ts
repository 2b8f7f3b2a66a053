import { expect, it } from 'vitest'
import { type Ops, open, set, weighed } from '../../services/metal/ledger/writing.ts'
import { Ledger } from '../../services/metal/ledger.ts'
import { random } from '../bench/plant-ledger.ts'

// Plants whose true weights are known and whose reports are off as scales and gauges are: how often does
// the interval of a share hold the true one? Two furnaces, heels gauged now and then, charges of three
// lots and returns, one scale for metallics and one for taps.

const HEATS = 14
const SCALES = { charge: 5, crane: 9 }
const SHARED = 0.01
const SINGLE = 0.008
const GAUGE = 0.06
/** What the book of a few heats may be off. Unit: grams. */
const BOOK = 40_000

function normal(chance: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance())
}

/** The same plant twice: as it was, and as it was reported. */
function plant(seed: number) {
  const chance = random(seed)
  const off = { charge: SHARED * normal(chance), crane: SHARED * normal(chance) }
  const [truth, told] = [new Ledger(), new Ledger()]
  const both = [truth, told]
  const make = (what: (ledger: Ledger) => number) => both.map(what)[1]!
  const furnaces = [0, 1].map(() => make((ledger) => ledger.vessel()))
  const lots = [0, 1, 2, 3].map(() => make((ledger) => ledger.leaf()))
  const pours: number[] = []
  const held = [0, 0]
  for (let heat = 0; heat < HEATS; heat++) {
    const f = heat % 2
    const [was, said]: [Ops, Ops] = [[...open(furnaces[f]!)], [...open(furnaces[f]!)]]
    const weigh = (slot: number, grams: number, scale: 'charge' | 'crane') => {
      const shown = grams * (1 + off[scale]) * (1 + SINGLE * normal(chance))
      was.push(slot, Math.round(grams))
      said.push(...weighed({ single: SINGLE, scale: SCALES[scale], shared: SHARED }))
      said.push(slot, Math.round(shown))
      held[f]! += Math.round(grams)
    }
    if (heat < 2 || chance() < 0.4) {
      const gauged = Math.round(held[f]! * (1 + GAUGE * normal(chance)))
      const spread = GAUGE * gauged
      said.push(...set(gauged, Math.round(3 * Math.hypot(spread, BOOK)), spread))
    }
    for (const lot of lots) {
      if (chance() < 0.7) weigh(lot, 200_000 + 500_000 * chance(), 'charge')
    }
    if (pours.length > 4) weigh(pours[Math.floor(chance() * pours.length)]!, 300_000, 'charge')
    while (held[f]! > 700_000) {
      const tap = make((ledger) => ledger.slot())
      weigh(tap, -350_000, 'crane')
      pours.push(tap)
    }
    const at = 60_000 * (heat + 1)
    for (const [k, ops] of [was, said].entries()) {
      const ledger = both[k]!
      ledger.write(ledger.cell({ at, tie: 0, vessel: furnaces[f]! }), 0, ops)
    }
  }
  const pour = pours[Math.floor(chance() * pours.length)]!
  const lot = lots[Math.floor(chance() * lots.length)]!
  return { truth, told, pour, lot }
}

it('holds the true share in 93 to 97 of 100 plants whose weights are off as told', {
  timeout: 60_000,
}, () => {
  let [inside, asked] = [0, 0]
  for (let seed = 1; seed <= 2000; seed++) {
    const { truth, told, pour, lot } = plant(seed)
    const really = truth.follow([lot])(pour).best
    const { best, spread } = told.follow([lot], { doubt: true })(pour)
    if (really === 0 || spread === 0) continue
    asked++
    if (Math.abs(really - best) <= 1.96 * spread) inside++
  }
  expect(asked).toBeGreaterThan(1000)
  expect(inside / asked).toBeGreaterThan(0.93)
  expect(inside / asked).toBeLessThan(0.97)
})
