// What touched castings without staying in them: sand, media, shot, oil, coagulant, and the machines
// they went through. A touch is a chance, as far as castings are.
import type { Station } from '../events/fact.ts'
import type { View } from './followed.ts'
import type { Origins } from './origins.ts'

export interface Touch {
  station: Station
  /** A lot, bin or sand batch; absent for a machine. */
  no?: number
  machine?: string
  /** That one casting was touched. */
  chance: number
}

const SEASON_STEPS: ReadonlySet<string> = new Set(['oil', 'bake', 'strip'])

/** Most likely first. */
export function touchesOf(view: View, known: Origins): Touch[] {
  const found = new Map<string, Touch>()
  const add = (touch: Touch) => {
    if (touch.chance <= 0) return
    const key = `${touch.station} ${touch.no ?? ''} ${touch.machine ?? ''}`
    const same = found.get(key)
    if (same) same.chance = Math.min(1, same.chance + touch.chance)
    else found.set(key, { ...touch, chance: Math.min(1, touch.chance) })
  }
  for (const { pour, chance } of known.pours)
    for (const touch of onPour(view, pour, chance)) add(touch)
  for (const touch of onLoads(view, known)) add(touch)
  return [...found.values()].sort((a, b) => b.chance - a.chance)
}

function* onPour(view: View, pour: number, chance: number): Iterable<Touch> {
  const { book, castings, asOf } = view
  const poured = book.of(pour, 'poured', asOf)[0]
  const runs = castings.moldsOf(pour)
  const molds = runs
    .filter((run) => run.certain)
    .reduce((sum, { first, last }) => sum + last - first + 1, 0)
  for (const { molds: run, sand, first, last, certain } of runs) {
    const part = certain ? (chance * (last - first + 1)) / (molds || 1) : chance
    if (sand !== undefined) {
      yield { station: 'mold', no: sand, chance: part }
      for (const { fact } of book.of(sand, 'touched', asOf))
        yield { station: 'mold', no: fact.other, chance: part }
    }
    for (const { fact } of book.of(run, 'touched', asOf))
      yield { station: 'mold', no: fact.other, chance: part }
  }
  if (!poured) return
  yield {
    station: 'pour',
    machine: view.things.name(poured.fact.via).replace(/^line:/, ''),
    chance,
  }
  for (const on of [pour, poured.fact.other]) {
    if (on === undefined) continue
    for (const { fact } of book.of(on, 'touched', asOf))
      yield { station: fact.station, no: fact.other, chance }
  }
}

function* onLoads(view: View, known: Origins): Iterable<Touch> {
  const { book, castings, asOf } = view
  for (const handling of castings.handlings()) {
    const chance = handling.slots.reduce((sum, slot) => sum + (known.throughCastings[slot] ?? 0), 0)
    if (chance <= 0) continue
    const station = SEASON_STEPS.has(handling.step) ? 'season' : 'clean'
    if (handling.machine !== undefined) yield { station, machine: handling.machine, chance }
    for (const { fact } of book.of(handling.load, 'touched', asOf)) {
      const here = fact.step === handling.step && (fact.pass ?? 1) === handling.pass
      if (here && fact.at >= handling.from && fact.at <= handling.at)
        yield { station, no: fact.other, chance }
    }
  }
}
