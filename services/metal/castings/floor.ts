// Keeps the flow of castings level with the facts in force: each fact has one place where it is read,
// and what reads it is tied anew when it comes or goes.
import type { Fact, FactOf } from '../../events/fact.ts'
import { kept, listed } from '../kept.ts'
import { type Things, tieOfThing } from '../things.ts'
import { canonical, FactSet } from './fact-set.ts'
import { Finding } from './finding.ts'
import { Flow, type Taker } from './flow.ts'
import { Handling } from './handling.ts'
import { Inference } from './inference.ts'
import type { Run } from './line-clock.ts'
import { Line, type Poured } from './molds.ts'
import { Packing, Repacking, Returning, Shipping } from './packing.ts'
import type { Stock } from './stock.ts'

type LoadFact = FactOf<'load-handled' | 'load-source' | 'load-removed', number>
type PackFact = FactOf<'pack-line' | 'pack-source', number>

export class Floor {
  readonly flow: Flow
  readonly lines = new Map<number, Line>()
  /** By the thing it is. */
  readonly runs = new Map<number, Run>()
  readonly pans = new Map<number, FactOf<'pan-packed', number>>()
  /** By pack and by source: pans said to be of it. */
  readonly pansOf = new Map<number, Set<number>>()
  readonly counted = new Map<number, FactOf<'stock-counted', number>[]>()
  readonly inference = new Inference()
  readonly #facts = new FactSet()
  readonly #takers = new Map<Fact<number>, Taker>()
  readonly #findings = new Map<string, Finding>()
  readonly #poured = new Map<number, Poured[]>()
  readonly #handled = new Set<Handling>()
  readonly #patterns = new Map<Line, Set<string>>()
  /** Changes to molds, each giving the pours it concerns once all are known. */
  readonly #molded: (() => Iterable<Poured>)[] = []

  constructor(things: Things) {
    this.flow = new Flow(things)
  }

  /**
   * Takes in facts that came into force and facts that went out of it; the stocks worked out anew, undefined
   * where no fact is about castings.
   */
  apply(added: Iterable<Fact<number>>, removed: Iterable<Fact<number>>): Set<Stock> | undefined {
    let isRead = false
    for (const fact of removed) {
      const known = this.#facts.strike(fact)
      if (known) this.#read(known, false)
      isRead ||= known !== undefined
    }
    for (const fact of added) {
      if (!CONCERNED.has(fact.what)) continue
      this.#facts.add(fact)
      this.#read(fact, true)
      isRead = true
    }
    if (!isRead) return undefined
    this.#recount()
    this.#place()
    this.flow.tie()
    this.inference.tie(this)
    return this.flow.settle()
  }

  #read(fact: Fact<number>, comes: boolean): void {
    switch (fact.what) {
      case 'pattern-mounted': {
        const line = this.#line(fact.of)
        if (comes) line.plates.add(fact)
        else line.plates.delete(fact)
        enlist(this.#patterns, line, fact.pattern, true)
        return
      }
      case 'molds-made': {
        const line = this.#line(fact.via)
        if (comes) line.addRun(fact)
        else line.deleteRun(fact)
        if (comes) this.runs.set(fact.of, fact)
        else if (this.runs.get(fact.of) === fact) this.runs.delete(fact.of)
        this.#molded.push(() => line.pours.overlapping(fact))
        return
      }
      case 'molds-lost': {
        const line = this.#line(fact.of)
        if (comes) line.addLoss(fact)
        else line.deleteLoss(fact)
        this.#molded.push(() => line.pours.overlapping(fact))
        return
      }
      case 'line-stopped': {
        const line = this.#line(fact.of)
        if (comes) line.addStop(fact)
        else line.deleteStop(fact)
        return
      }
      case 'poured': {
        const { pours } = this.#line(fact.via)
        if (comes) pours.add(fact)
        else pours.delete(fact)
        change(listed(this.#poured, fact.of), fact, comes)
        this.#molded.push(() => [fact])
        return
      }
      case 'load-handled':
      case 'load-source':
      case 'load-removed':
        this.#readLoad(fact, comes)
        return
      case 'pack-line':
      case 'pack-source':
        this.#readPack(fact, comes)
        return
      case 'pan-packed':
        if (comes) this.pans.set(fact.of, fact)
        else if (this.pans.get(fact.of) === fact) this.pans.delete(fact.of)
        for (const no of [fact.via, fact.other ?? fact.via]) enlist(this.pansOf, no, fact.of, comes)
        if (fact.other !== undefined && this.flow.things.kind(fact.other) === 'pour') {
          this.flow.pour(fact.other).name(comes ? 1 : -1)
        }
        return
      case 'stock-counted':
        change(listed(this.counted, fact.of), fact, comes)
        return
      case 'defect-found':
        this.#readDefect(fact, comes)
        return
      default:
        this.#readSingle(fact, comes)
    }
  }

  #tie({ of }: Fact<number>): number {
    return tieOfThing(this.flow.things, of)
  }

  #readLoad(fact: LoadFact, comes: boolean): void {
    const load = this.flow.load(fact.of)
    const handling = load.find(fact) ?? load.add(new Handling(fact, this.#tie(fact)))
    if (fact.what === 'load-handled') change(handling.reports, fact, comes)
    else if (fact.what === 'load-source') change(handling.sources, fact, comes)
    else change(handling.removals, fact, comes)
    this.#handled.add(handling)
    this.flow.loosen(handling)
    this.flow.loosenReaders(fact.of, fact.from)
  }

  #readPack(fact: PackFact, comes: boolean): void {
    const packing = kept(this.flow.packings, fact.of, () => new Packing(fact.of, this.#tie(fact)))
    if (fact.what === 'pack-line') change(packing.lines, fact, comes)
    else change(packing.sources, fact, comes)
    this.flow.loosen(packing)
    this.flow.loosenReaders(fact.of, fact.at)
  }

  /** One line of an inspection may name several things: it is found once among all of them. */
  #readDefect(fact: FactOf<'defect-found', number>, comes: boolean): void {
    const { of: _, ...line } = fact
    const key = canonical(line)
    const finding = kept(this.#findings, key, () => new Finding(fact.at, key))
    change(finding.facts, fact, comes)
    this.flow.loosen(finding)
    if (finding.facts.length > 0) return
    this.flow.drop(finding)
    this.#findings.delete(key)
  }

  /** Facts that take castings from somewhere by themselves. */
  #readSingle(fact: Fact<number>, comes: boolean): void {
    const taker = this.#takers.get(fact) ?? takerOf(fact, this.#tie(fact))
    if (!taker) return
    const { shippings, shipments, repackings } = this.flow
    if (taker instanceof Shipping) {
      enlist(shippings, taker.fact.other, taker, comes)
      enlist(shipments, taker.fact.of, taker, comes)
    }
    if (taker instanceof Repacking) enlist(repackings, taker.fact.of, taker, comes)
    if (comes) {
      this.#takers.set(fact, taker)
      this.flow.loosen(taker)
    } else {
      this.#takers.delete(fact)
      this.flow.drop(taker)
    }
    if (taker instanceof Shipping) this.flow.loosenReaders(taker.fact.other, fact.at)
    if (taker instanceof Repacking) this.flow.loosenReaders(taker.fact.of, fact.at)
  }

  #line(no: number): Line {
    return kept(this.lines, no, () => new Line())
  }

  /** Counts anew the castings of pours whose molds may be others now. */
  #recount(): void {
    const concerned = new Set<number>()
    for (const pours of this.#molded.splice(0)) for (const { of } of pours()) concerned.add(of)
    for (const [line, patterns] of this.#patterns) {
      for (const { of } of line.pours) if (this.#mayBeOf(of, patterns)) concerned.add(of)
    }
    this.#patterns.clear()
    for (const no of concerned) {
      const pour = this.flow.pour(no)
      const poured = this.#poured.get(no)?.toSorted((a, b) => b.at - a.at || b.from - a.from)[0]
      const before = pour.made
      pour.recount(poured, poured && this.#line(poured.via).count(poured))
      this.flow.touch(pour.stock)
      if (pour.made !== before) this.flow.loosenReaders(no, pour.poured?.at ?? 0)
    }
  }

  /** Whether a pour may have filled molds of some patterns. */
  #mayBeOf(pour: number, patterns: ReadonlySet<string>): boolean {
    const count = this.flow.pours.get(pour)?.count
    return (
      !count || count.stretches.some(({ runs }) => runs.some((run) => patterns.has(run.pattern)))
    )
  }

  /** Puts handlings in their place in time. */
  #place(): void {
    for (const handling of this.#handled) {
      for (const stock of handling.place()) stock.clear(this.flow.mixing)
      const load = this.flow.load(handling.load)
      if (handling.reports.length + handling.sources.length + handling.removals.length > 0)
        load.sort()
      else {
        for (const stock of handling.stocks) stock.clear(this.flow.mixing)
        this.flow.drop(handling)
        load.delete(handling)
      }
    }
    this.#handled.clear()
  }
}

const CONCERNED: ReadonlySet<Fact<number>['what']> = new Set([
  'pattern-mounted',
  'molds-made',
  'molds-lost',
  'line-stopped',
  'poured',
  'load-handled',
  'load-source',
  'load-removed',
  'pack-line',
  'pack-source',
  'pan-packed',
  'repacked',
  'shipped',
  'castings-returned',
  'stock-counted',
  'defect-found',
])

function takerOf(fact: Fact<number>, tie: number): Taker | undefined {
  switch (fact.what) {
    case 'repacked':
      return new Repacking(fact, tie)
    case 'shipped':
      return new Shipping(fact, tie)
    case 'castings-returned':
      return new Returning(fact, tie)
    default:
      return undefined
  }
}

function enlist<K, V>(map: Map<K, Set<V>>, key: K, value: V, comes: boolean): void {
  const set = kept(map, key, () => new Set<V>())
  if (comes) set.add(value)
  else set.delete(value)
}

function change<V>(list: V[], value: V, comes: boolean): void {
  if (comes) list.push(value)
  else list.splice(list.indexOf(value), 1)
}
