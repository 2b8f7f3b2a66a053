// The metal side of the genealogy: keeps the ledger level with the facts in force. Each change reads
// anew only the charges, heats, ladles and pours it concerns, and writes them from the moment of
// recorded time on at which they changed.
import type { Ms } from '../events/fact.ts'
import { type FactBook, NOW, type Noted } from './fact-book.ts'
import { Ledger } from './ledger.ts'
import { LostSight } from './lost-sight.ts'
import { chargeCell, lotCell } from './melt/charging.ts'
import { heatCells } from './melt/furnace.ts'
import { ladleCell, pourCell, pourParts } from './melt/ladle.ts'
import { loneCell } from './melt/lone.ts'
import type { CastingsMetal, Drawn, Yard } from './melt/yard.ts'
import type { Things } from './things.ts'

/** A fact whose standing changed, and from which recorded moment on. */
export interface Changed {
  noted: Noted
  from: Ms
}

export interface LedgerNames {
  /** The thing a slot is the composition of, or was taken out for. */
  slot(slot: number): number | undefined
  /** When it was taken out. */
  moment(slot: number): Ms | undefined
  heat(cell: number): number | undefined
}

export class Melt {
  readonly ledger = new Ledger()
  readonly lostSight: LostSight
  readonly #yard: Yard
  readonly #slots = new Map<number, number>()
  readonly #owns = new Map<number, number>()
  readonly #taken = new Map<Noted, number>()
  readonly #parts = new Map<Noted, number>()
  readonly #lost = new Map<number, number>()
  readonly #vessels = new Map<number | string, number>()
  /** By slot, the lot that is this leaf. */
  readonly #lots = new Map<number, number>()
  readonly #states = new Map<number | Noted, State>()
  readonly #outs = new Map<Noted, State>()

  constructor(book: FactBook, things: Things, castings: CastingsMetal) {
    const { ledger } = this
    this.lostSight = new LostSight(book, things)
    this.#yard = {
      book,
      things,
      castings,
      slot: (no) => kept(this.#slots, no, () => ledger.slot()),
      own: (lot) =>
        kept(this.#owns, lot, () => {
          const slot = ledger.leaf()
          this.#lots.set(slot, lot)
          return slot
        }),
      taken: (noted) => kept(this.#taken, noted, () => ledger.slot()),
      lost: (heat) => kept(this.#lost, heat, () => ledger.slot()),
      part: (noted) => kept(this.#parts, noted, () => ledger.slot()),
      vessel: (no) => kept(this.#vessels, no, () => ledger.vessel()),
      steel: (ladle, name) =>
        kept(this.#vessels, `${things.plant(ladle)} ${name}`, () => ledger.vessel()),
    }
  }

  /** Composition of a lot, charge, ladle or pour; undefined while nothing has named it as metal. */
  slotOf(no: number): number | undefined {
    return this.#slots.get(no)
  }

  /** The leaf of a received lot. */
  ownOf(lot: number): number | undefined {
    return this.#owns.get(lot)
  }

  /** Composition of what one fact took out of a vessel, such as a tap. */
  takenOf(noted: Noted): number | undefined {
    return this.#taken.get(noted)
  }

  vesselOf(no: number): number | undefined {
    return this.#vessels.get(no)
  }

  /** Leaves, each with the lot it is. */
  lots(): Iterable<[slot: number, lot: number]> {
    return this.#lots
  }

  /** Things that have a composition, each with its slot. */
  slots(): Iterable<[no: number, slot: number]> {
    return this.#slots
  }

  /** Lots, charges, heats, ladles and pours that anything was said of. */
  *told(): Iterable<number> {
    for (const key of this.#states.keys()) if (typeof key === 'number') yield key
  }

  /** Cells of the ledger that a charge, heat, ladle, lot or pour was written to. */
  cellsOf(no: number): Iterable<number> {
    return this.#states.get(no)?.cells.values() ?? []
  }

  /** What slots and cells of the ledger stand for, to be looked up many at once. */
  names(): LedgerNames {
    const slots = new Map<number, number>()
    const moments = new Map<number, Ms>()
    for (const [no, slot] of this.#slots) slots.set(slot, no)
    for (const [{ fact }, slot] of this.#taken) {
      const drawn = fact.what === 'ladle-tapped' || fact.what === 'poured' || !('other' in fact)
      const no = drawn ? fact.of : fact.other
      if (no !== undefined) slots.set(slot, no)
      moments.set(slot, fact.at)
    }
    const heats = new Map<number, number>()
    for (const [no, state] of this.#states) {
      if (typeof no !== 'number' || this.#yard.things.kind(no) !== 'heat') continue
      for (const cell of state.cells.values()) heats.set(cell, no)
    }
    return {
      slot: (slot) => slots.get(slot),
      moment: (slot) => moments.get(slot),
      heat: (cell) => heats.get(cell),
    }
  }

  pourParts(pour: number, asOf: Ms = NOW): { slot: number; molds: number }[] {
    return pourParts(this.#yard, pour, asOf)
  }

  /**
   * Reads anew what changed facts concern, and the lots made of things whose castings may be others now,
   * from the earliest change on. Facts and castings are level already.
   */
  apply(changes: readonly Changed[], castings: Iterable<number> = []): void {
    const dirty = new Map<State, Ms>()
    const note = (state: State, from: Ms) =>
      dirty.set(state, Math.min(from, dirty.get(state) ?? from))
    // Not Math.min of a list: a first reading changes more than a call takes arguments.
    const earliest = changes.reduce((least, { from }) => Math.min(least, from), Number.MAX_VALUE)
    for (const { noted, from } of changes) {
      this.lostSight.turned(noted)
      for (const state of this.#concerned(noted)) note(state, from)
    }
    for (const no of castings)
      for (const noted of this.#yard.book.other(no, 'returned-from'))
        for (const state of this.#returned(noted)) note(state, earliest)
    for (const [state, from] of dirty) this.#write(state, from)
  }

  /** Writes a cell anew at every moment from `from` on at which what it is read from was otherwise. */
  #write(state: State, from: Ms): void {
    const { book } = this.#yard
    const moments = new Set([from])
    // What was written for a moment that no longer matters must not stand either.
    for (const cell of state.cells.values())
      for (const since of this.ledger.sinces(cell)) moments.add(since)
    const now = book.watch(moments, () => state.draw(NOW))
    // From the last turn on nothing that is read changes: it is drawn as it is now.
    const last = [...moments].reduce((a, b) => Math.max(a, b))
    const drawn = new Map([[last, now]])
    // While this goes through the set, what is read then adds further moments to it.
    for (const at of moments) {
      if (at < from || at === last) continue
      drawn.set(
        at,
        book.watch(moments, () => state.draw(at)),
      )
    }
    // From the earliest on: a cell that another takes the place of later has to be there by then.
    for (const [at, version] of [...drawn].sort(([a], [b]) => a - b))
      this.#version(state, at, version)
  }

  /** Where a cell stands in its vessel may change with a correction: then another cell takes its place. */
  #version(state: State, since: Ms, drawn: readonly Drawn[]): void {
    const keys = new Set(drawn.map(keyOf))
    for (const [key, cell] of state.cells) if (!keys.has(key)) this.ledger.write(cell, since, [])
    for (const one of drawn) {
      const { at, tie, vessel, ops } = one
      const cell = kept(state.cells, keyOf(one), () =>
        this.ledger.cell({
          at: Math.min(Math.max(at, 0), LATEST),
          tie,
          ...(vessel === undefined ? {} : { vessel }),
        }),
      )
      this.ledger.write(cell, since, ops)
    }
  }

  #thing(sort: Sort, no: number): State {
    return kept(this.#states, no, () => ({
      cells: new Map(),
      draw: (asOf: Ms) => listOf(CELL[sort](this.#yard, no, asOf)),
    }))
  }

  #lone(noted: Noted, side: 'in' | 'out'): State {
    return kept(side === 'in' ? this.#states : this.#outs, noted, () => ({
      cells: new Map(),
      draw: (asOf: Ms) => listOf(loneCell(this.#yard, noted, side, asOf)),
    }))
  }

  /** What has to be read anew when a fact comes into force or goes out of it. */
  *#concerned(noted: Noted): Iterable<State> {
    const { book, things } = this.#yard
    const { fact } = noted
    switch (fact.what) {
      case 'lot-received':
        yield this.#thing('lot', fact.of)
        if (fact.via !== undefined) yield this.#lone(noted, 'in')
        yield* this.#users(fact.of)
        return
      case 'returns-collected':
        yield this.#thing('lot', fact.of)
        if (fact.via !== undefined) yield this.#lone(noted, 'in')
        return
      case 'returned-from':
        yield* this.#returned(noted)
        if (things.kind(fact.other) === 'ladle') yield this.#thing('ladle', fact.other)
        return
      case 'bin-filled':
        yield this.#lone(noted, 'in')
        if (things.kind(fact.other) === 'bin') yield this.#lone(noted, 'out')
        yield* this.#users(fact.of)
        return
      case 'vessel-set':
      case 'furnace-emptied':
        yield this.#lone(noted, 'in')
        return
      case 'charge-line':
        yield* this.#drawn(noted, fact.other)
        yield this.#thing('charge', fact.of)
        for (const heat of book.other(fact.of, 'heat-charged'))
          yield this.#thing('heat', heat.fact.of)
        return
      case 'heat-charged':
        yield this.#thing('heat', fact.of)
        for (const heat of book.other(fact.other, 'heat-charged'))
          yield this.#thing('heat', heat.fact.of)
        return
      case 'heat-begun':
        yield this.#thing('heat', fact.of)
        return
      case 'heat-added':
        yield* this.#drawn(noted, fact.other)
        yield this.#thing('heat', fact.of)
        return
      case 'ladle-tapped':
        yield this.#thing('heat', fact.other)
        yield this.#thing('ladle', fact.of)
        return
      case 'ladle-added':
        yield* this.#drawn(noted, fact.other)
        yield this.#thing('ladle', fact.of)
        return
      case 'metal-moved':
        yield* this.#moved(noted)
        return
      case 'metal-spilled':
        if (things.kind(fact.of) === 'furnace') yield this.#lone(noted, 'out')
        else if (things.kind(fact.of) === 'ladle') yield this.#thing('ladle', fact.of)
        return
      case 'poured':
        yield this.#thing('pour', fact.of)
        if (fact.other === undefined) return
        if (things.kind(fact.other) === 'furnace') yield this.#lone(noted, 'out')
        else yield this.#thing('ladle', fact.other)
        return
      case 'pour-added':
      case 'topped-up':
        if (fact.what === 'pour-added') yield* this.#drawn(noted, fact.other)
        else yield this.#thing('ladle', fact.other)
        yield* this.#pour(fact.of)
        return
      default:
        return
    }
  }

  *#returned(noted: Noted): Iterable<State> {
    yield this.#lone(noted, 'in')
    yield this.#thing('lot', noted.fact.of)
  }

  *#moved(noted: Noted): Iterable<State> {
    const { fact } = noted
    if (fact.what !== 'metal-moved') return
    const { things } = this.#yard
    const [from, into] = [things.kind(fact.other), things.kind(fact.of)]
    if (from === 'furnace') yield this.#lone(noted, 'out')
    if (from === 'ladle') yield this.#thing('ladle', fact.other)
    if (into === 'ladle') yield this.#thing('ladle', fact.of)
    if (into === 'lot') yield this.#thing('lot', fact.of)
    if (fact.via !== undefined) yield this.#thing('heat', fact.via)
    else if (into === 'furnace') yield this.#lone(noted, 'in')
  }

  *#pour(no: number): Iterable<State> {
    yield this.#thing('pour', no)
    for (const poured of this.#yard.book.of(no, 'poured')) {
      if (poured.fact.other === undefined) continue
      if (this.#yard.things.kind(poured.fact.other) === 'furnace') yield this.#lone(poured, 'out')
      else yield this.#thing('ladle', poured.fact.other)
    }
  }

  *#drawn(noted: Noted, from: number): Iterable<State> {
    if (this.#yard.things.kind(from) === 'bin') yield this.#lone(noted, 'out')
  }

  /** Everything a lot or bin was drawn into. */
  *#users(no: number): Iterable<State> {
    const { book } = this.#yard
    for (const line of book.other(no, 'charge-line')) {
      yield* this.#drawn(line, no)
      yield this.#thing('charge', line.fact.of)
      for (const heat of book.other(line.fact.of, 'heat-charged'))
        yield this.#thing('heat', heat.fact.of)
    }
    for (const what of ['heat-added', 'ladle-added', 'pour-added'] as const) {
      for (const added of book.other(no, what)) {
        yield* this.#drawn(added, no)
        if (what === 'pour-added') yield* this.#pour(added.fact.of)
        else yield this.#thing(what === 'heat-added' ? 'heat' : 'ladle', added.fact.of)
      }
    }
  }
}

/** A clock gone wild stands at an end of what the ledger can tell apart. Unit: ms. */
const LATEST = 1000 * (2 ** 32 - 1)

type Sort = keyof typeof CELL
const CELL = { lot: lotCell, charge: chargeCell, heat: heatCells, ladle: ladleCell, pour: pourCell }

interface State {
  /** Cells of the ledger it was ever written to, by place in vessel and time. */
  cells: Map<string, number>
  draw(asOf: Ms): Drawn[]
}

function keyOf({ vessel, at, tie }: Drawn): string {
  return `${vessel ?? ''} ${at} ${tie}`
}

function listOf(drawn: Drawn | Drawn[] | undefined): Drawn[] {
  return drawn === undefined ? [] : [drawn].flat()
}

function kept<K, V>(map: Map<K, V>, key: K, make: () => V): V {
  let value = map.get(key)
  if (value === undefined) {
    value = make()
    map.set(key, value)
  }
  return value
}
