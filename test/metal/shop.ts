import type { Cavity, Fact, FactOf, Step } from '../../services/events/fact.ts'
import type { CastingsNode } from '../../services/metal/castings/places.ts'
import { Castings } from '../../services/metal/castings.ts'
import { HandRecord } from './record.ts'

export const MINUTE = 60_000
const at = (minutes: number) => minutes * MINUTE

interface Mounting {
  pattern?: string
  cavities?: Cavity[]
  series?: string
  fromMold?: number
  moldKg?: number
}

const SKILLETS: Cavity[] = [
  { cavity: 'A', product: 'skillet', castingGrams: 2000 },
  { cavity: 'B', product: 'skillet', castingGrams: 2000 },
]

/** A pattern goes on line 1; by default it makes two skillets a mold. */
export function mount(minute: number, mounting: Mounting = {}): Fact {
  const { pattern = 'P', cavities = SKILLETS, moldKg, ...rest } = mounting
  const grams = moldKg === undefined ? {} : { moldGrams: moldKg * 1000 }
  return {
    what: 'pattern-mounted',
    of: 'line:1',
    at: at(minute),
    pattern,
    cavities,
    ...rest,
    ...grams,
  }
}

/** A run of molds on line 1. Times in minutes. */
export function run(
  name: string,
  [first, last]: [number, number],
  [from, until]: [number, number],
  more: { pattern?: string; series?: string; sand?: string } = {},
): Fact {
  const { pattern = 'P', series, sand } = more
  return {
    what: 'molds-made',
    of: `molds:${name}`,
    via: 'line:1',
    pattern,
    first,
    last,
    from: at(from),
    at: at(until),
    ...(series === undefined ? {} : { series }),
    ...(sand === undefined ? {} : { other: `sand:${sand}` }),
  }
}

export function lost(minute: number, [first, last]: [number, number], more: object = {}): Fact {
  return { what: 'molds-lost', of: 'line:1', at: at(minute), first, last, fate: 'broken', ...more }
}

export function pour(
  name: string,
  [first, last]: [number, number],
  minute: number,
  more: { series?: string } = {},
): Fact {
  return {
    what: 'poured',
    of: `pour:${name}`,
    via: 'line:1',
    other: `ladle:${name}`,
    first,
    last,
    from: at(minute),
    at: at(minute + 5),
    ...more,
  }
}

export interface Said {
  castings: number
  castingsIn?: number
  pass?: number
  product?: string
  machine?: string
  tote?: string
  sources?: {
    of: string
    castings?: number
    product?: string
    cavity?: string
    emptied?: boolean
  }[]
  removed?: { castings: number; fate: string; of?: string; product?: string; into?: string }[]
}

/** A load at a step, from one minute to another. */
export function handled(
  load: string,
  step: Step,
  [from, until]: [number, number],
  said: Said,
): Fact[] {
  const own = { of: `load:${load}`, step, pass: said.pass ?? 1, from: at(from), at: at(until) }
  const { castings: amount, castingsIn, product, machine, tote } = said
  const handling: Record<string, unknown> = { what: 'load-handled', ...own, amount }
  if (castingsIn !== undefined) handling.castingsIn = castingsIn
  if (product !== undefined) handling.product = product
  if (machine !== undefined) handling.machine = machine
  if (tote !== undefined) handling.via = `tote:${tote}`
  return [
    handling as unknown as Fact,
    ...(said.sources ?? []).map(({ of: other, castings, ...rest }): Fact => {
      const source: FactOf<'load-source'> = { what: 'load-source', ...own, other, ...rest }
      if (castings !== undefined) source.amount = castings
      return source
    }),
    ...(said.removed ?? []).map(({ castings: removed, of: other, into: via, ...rest }): Fact => {
      const removal: FactOf<'load-removed'> = {
        what: 'load-removed',
        ...own,
        amount: removed,
        ...rest,
      }
      if (other !== undefined) removal.other = other
      if (via !== undefined) removal.via = via
      return removal
    }),
  ]
}

/** A pack of lines: product, castings, and by source how many, null where not counted. */
export function packed(
  pack: string,
  minute: number,
  ...lines: [product: string, castings: number, sources?: Record<string, number | null>][]
): Fact[] {
  return lines.flatMap(([product, amount, sources = {}], i) => [
    { what: 'pack-line', of: `pack:${pack}`, at: at(minute), line: i + 1, product, amount } as Fact,
    ...Object.entries(sources).map(([other, castings]): Fact => {
      const source = { of: `pack:${pack}`, at: at(minute), other, line: i + 1, product }
      return { what: 'pack-source', ...source, ...(castings === null ? {} : { amount: castings }) }
    }),
  ])
}

export function repacked(
  into: string,
  from: string,
  amount: number,
  minute: number,
  product = 'skillet',
): Fact {
  return {
    what: 'repacked',
    of: `pack:${into}`,
    other: `pack:${from}`,
    at: at(minute),
    product,
    amount,
    reason: 'repack',
  }
}

export function shipped(
  shipment: string,
  pack: string,
  amount: number,
  minute: number,
  customer = 'C1',
): Fact {
  return {
    what: 'shipped',
    of: `shipment:${shipment}`,
    other: `pack:${pack}`,
    at: at(minute),
    amount,
    customer,
  }
}

export function returned(of: string, amount: number, minute: number, into?: string): Fact {
  return {
    what: 'castings-returned',
    of,
    at: at(minute),
    product: 'skillet',
    amount,
    customer: 'C1',
    ...(into === undefined ? {} : { via: into }),
  }
}

export function defect(of: string, castings: number, minute: number, more: object = {}): Fact {
  return {
    what: 'defect-found',
    of,
    at: at(minute),
    inspection: 'I1',
    stage: 'after blast',
    defect: 'misrun',
    castings,
    fate: 'scrap',
    ...more,
  }
}

/** Castings worked out from facts by name. */
export class Shop {
  readonly record: HandRecord
  readonly castings: Castings

  constructor(facts: readonly Fact[] = [], record = new HandRecord()) {
    this.record = record
    this.castings = new Castings(record)
    this.say(facts)
  }

  say(added: readonly Fact[], removed: readonly Fact[] = []): Set<string> {
    const numbered = (facts: readonly Fact[]) => facts.map((fact) => this.record.numbered(fact))
    const touched = this.castings.apply(numbered(added), numbered(removed))
    return new Set([...touched].map((no) => this.record.name(no)))
  }

  no(name: string): number {
    return this.record.no(name)
  }

  /** Chance that a casting of a thing is of each pour; `?` for unrecorded. Products as asked. */
  chances(name: string, product?: string): Record<string, number> {
    const all = this.castings.slotsOf(this.no(name))
    const held = all.filter((one) => product === undefined || one.product === product)
    const total = held.reduce((sum, { castings }) => sum + castings, 0)
    const { rest, unrecorded } = this.castings.ledger.backward(
      held.map(({ slot, castings }): [number, number] => [slot, castings / total]),
    )
    const chances: Record<string, number> = {}
    for (const unit of this.castings.units()) {
      if (rest[unit.slot]! <= 0) continue
      const pour = this.record.name(unit.pour)
      chances[pour] = (chances[pour] ?? 0) + rest[unit.slot]!
    }
    if (unrecorded > 1e-12) chances['?'] = unrecorded
    return Object.fromEntries(
      Object.entries(chances).map(([key, value]) => [key, Number(value.toFixed(9))]),
    )
  }

  /** Castings by place, or by thing and place. */
  places(by: (node: CastingsNode) => string = ({ place }) => place): Record<string, number> {
    const counts: Record<string, number> = {}
    for (const node of this.castings.nodes())
      counts[by(node)] = (counts[by(node)] ?? 0) + node.castings
    return Object.fromEntries(
      Object.entries(counts).map(([key, value]) => [key, Number(value.toFixed(3))]),
    )
  }

  made(pour: string): Record<string, number> {
    const units = this.castings.unitsOf(this.no(pour))
    return Object.fromEntries(
      units.map((unit) => [`${unit.product} ${unit.cavity}`.trim(), unit.castings]),
    )
  }

  gaps(): string[] {
    return [...this.castings.gaps()]
      .map(({ sort, about }) => `${sort} ${this.record.name(about)}`)
      .sort()
  }
}
