// What statements come to: the one language between what stations say and what is worked out.
// Masses are grams, moments milliseconds since 1970, counts castings. What a fact means alone is
// fixed here; whether it holds is decided by merge.ts.

/**
 * What goes where. `of` is what the fact is about, `other` what went into it or names the far end,
 * `via` where it happened; all three are things. Things go by name in a statement, by number once
 * stored (N).
 */
export type Fact<N = Name> = {
  [What in keyof Sorts<N>]: { what: What; of: N; at: Ms } & Sorts<N>[What]
}[keyof Sorts<N>]

export type FactOf<What extends keyof Sorts<Name>, N = Name> = Extract<Fact<N>, { what: What }>

interface Sorts<N> {
  // receiving
  'lot-received': LotReceived<N>
  'returns-collected': { amount?: Grams; sort: string; line?: string; from?: Ms; via?: N }
  'returned-from': { other: N; amount?: Grams } & Weighed
  'bin-filled': BinFilled<N>
  /** A measured or emptied bin: holds `amount` from now on. */
  'vessel-set': { amount: Grams; spread?: Grams; reason: string }

  // melting; `via` is the furnace
  'recipe-followed': { recipe: string; revision: string }
  'charge-line': { other: N; amount: Grams; target?: Grams } & Weighed
  'heat-begun': HeatBegun<N>
  /** `amount` absent: all of the charge that no other heat names. */
  'heat-charged': { other: N; via: N; amount?: Grams; afterTap?: number } & Weighed
  'heat-added': { other: N; via: N; amount?: Grams; afterTap?: number } & Weighed
  'ladle-tapped': LadleTapped<N>
  /** `of` where to, absent on the floor; `other` where from; `via` the receiving heat. */
  'metal-moved': MetalMoved<N>
  'metal-spilled': { amount: Grams; reason: string }
  'furnace-emptied': { amount: Grams; spread?: Grams | undefined; reason: string }
  'ladle-added': { other: N; amount?: Grams; purpose: string } & Weighed
  'ladle-slagged': { pass: number }

  // molding and pouring; a line is the thing `line:name`
  /** Stood still from `from` until `at`. */
  'line-stopped': { from: Ms; reason?: string }
  'pattern-mounted': PatternMounted
  'sand-mulled': { returnGrams?: Grams; via?: N }
  'sand-stored': { via: N }
  'molds-made': { via: N; pattern: string; from: Ms; other?: N } & Molds
  'molds-lost': { fate: string; castingsKept?: number } & Molds
  /** `other` the ladle or furnace, `amount` the metal poured, `moldGrams` the metal of one mold. */
  poured: Poured<N>
  'pour-added': { other: N; amount?: Grams } & Weighed
  'topped-up': { other: N; mold: number; amount?: Grams }

  /** What leaves no mass behind: `other` a lot, bin, sand; `of` what it touched. */
  touched: Touched<N>

  // castings: `amount` counts them
  'load-handled': LoadHandled<N>
  'load-source': LoadSource<N>
  'load-removed': LoadRemoved<N>
  'pack-line': { line: number; product: string; amount: Castings; spot?: string }
  'pack-source': { other: N; line: number; product: string; amount?: Castings }
  'pack-marked': { mark: string }
  'pan-packed': { via: N; other?: N }
  /** `of` the pack made, `other` the pack it came out of. */
  repacked: { other: N; product: string; amount: Castings; reason: string }
  shipped: { other: N; amount: Castings; customer: string }
  /** `of` the pack, where it is known; else the line stands on `return:` itself. `via` where they went. */
  'castings-returned': {
    product: string
    amount: Castings
    customer: string
    mark?: string
    via?: N
  }
  'stock-counted': { castings?: Castings; grams?: Grams; spot?: string }

  // what was looked at and read
  inspected: Inspected
  'defect-found': DefectFound
  measured: Measured

  // decisions; a machine is the thing `machine:name`, `of` limits the thing `limits:quantity`
  'limits-set': LimitsSet
  'machine-changed': { station: Station; change: string }

  // matters: `hold:id`, `recall:id`, `drill:id`
  'matter-opened': MatterOpened
  'matter-closed': MatterClosed
  /** `other` the matter that covers it; `amount` absent: all of it. */
  covered: { other: N; amount?: Castings }
  released: { other: N; amount?: Castings; reason: string; by: string }
  'recall-answered': {
    other?: N
    amount: Castings
    customer: string
    mark?: string
    outcome: string
  }
  'call-given': { customer: string; to: string; by: string }
  'customer-told': { customer: string; by: string }
  /** `other` the matter it belongs to. */
  disposed: { other?: N; amount?: Castings; decision: string; spot?: string; by: string }
  complained: Complained
  'complaint-examined': { other?: N; defect: string; confirmed: boolean }
  'called-back': { by: string }
}

/** How an amount was weighed; absent parts nobody told. */
export interface Weighed {
  /** Its error is the same in every weighing. */
  scale?: string | undefined
  /** One standard deviation; with a scale, of the error all its weighings share. */
  spread?: Grams | undefined
  /** With a scale: standard deviation of this weighing alone. */
  repeat?: Grams | undefined
  how?: How | undefined
}

interface LotReceived<N> {
  amount: Grams
  role: Role
  material: string
  supplier?: string
  metalPercent?: number
  via?: N
  /** What its supplier calls it. */
  supplierLots?: string[]
}

interface BinFilled<N> extends Weighed {
  other: N
  amount: Grams
  use?: string
  mixing?: Mixing
  turnover?: number
}

/** `of` the filling of a ladle, `other` the heat; `steel` the ladle itself, `heel` what it still held. */
interface LadleTapped<N> extends Weighed {
  other: N
  via: N
  amount: Grams
  tap?: number
  steel?: string
  heel?: Grams
  heelSpread?: Grams
}

interface MetalMoved<N> extends Weighed {
  other: N
  amount: Grams
  afterTap?: number
  reason: string
  via?: N
}

interface HeatBegun<N> {
  via: N
  fromEmpty?: boolean
  /** Metal in the furnace just before this heat's first charge, with its standard deviation. */
  heel?: Grams
  heelSpread?: Grams
  until?: Ms
  sequence?: number
}

/** A run of molds: `series` names the counter they are numbered by. */
interface Molds {
  first: number
  last: number
  series?: string
}

interface Poured<N> extends Molds {
  via: N
  amount?: Grams
  moldGrams?: Grams
  from: Ms
  /** How far the plant's time was ahead of universal time. */
  offsetMinutes?: number
  other?: N
}

interface PatternMounted {
  pattern: string
  cavities: Cavity[]
  series?: string
  /** Metal of one mold, gates included. */
  moldGrams?: Grams
  fromMold?: number
}

/** One place of a pattern plate. */
export interface Cavity {
  cavity: string
  product: string
  castingGrams?: Grams
  mark?: string
  blocked?: boolean
}

interface Touched<N> {
  other: N
  station: Station
  amount?: Grams
  purpose?: string
  step?: Step
  pass?: number
}

interface LoadHandled<N> {
  step: Step
  pass: number
  /** Leaving the step. */
  amount: Castings
  castingsIn?: Castings
  product?: string
  machine?: string
  line?: string
  from: Ms
  /** The tote they stand in from `at` on. */
  via?: N
}

interface LoadSource<N> {
  other: N
  step: Step
  pass: number
  /** When the handling it belongs to began: with step and pass it tells reused tags apart. */
  from: Ms
  amount?: Castings
  product?: string
  cavity?: string
  emptied?: boolean
}

interface LoadRemoved<N> {
  step: Step
  pass: number
  from: Ms
  amount: Castings
  fate: string
  defect?: string
  product?: string
  /** Which of the sources they came from, and where they went. */
  other?: N
  via?: N
}

interface Inspected {
  inspection: string
  stage: string
  castings: Castings
  defective?: Castings
  plan?: string
  product?: string
  /** When they were made, where only that is known of them. */
  from?: Ms
  until?: Ms
}

interface DefectFound {
  inspection: string
  stage: string
  defect: string
  castings: Castings
  cavity?: string
  fate?: string
  product?: string
}

interface Measured {
  quantity: string
  amount: number
  /** UN/CEFACT Recommendation 20 code. */
  unit: string
  spread?: number
  bound?: 'below' | 'above'
  instrument?: string
  /** Of a sample of a heat: how it was analyzed, and after which tap it was taken. */
  method?: string
  afterTap?: number
}

interface MatterOpened {
  reason: string
  by: string
  say?: string
  due?: Ms
  /** Number of the answer it rests on. */
  basedOn?: string
  /** Which part of the scope this is, of how many there were when it was said. */
  part: number
  parts: number
}

interface MatterClosed {
  reason: string
  by: string
  /** Of drills. */
  laps?: { part: string; seconds: number }[]
  castings?: Castings
  accounted?: Castings
  basedOn?: string[]
}

interface Complained {
  /** As read; `?` for a sign nobody can read. */
  marks: string[]
  product?: string
  cavity?: string
  amount?: Castings
  defect?: string
  customer?: string
  evidence?: string
  injury: boolean
  /** Promised to be called by then. */
  callBackAt?: Ms
  /** Who took it down. */
  by?: string
}

/** What a quantity is held to from `at` on, for all that fits every part it names. */
interface LimitsSet {
  low?: number
  aim?: number
  high?: number
  /** UN/CEFACT Recommendation 20 code of the unit the quantity is kept in. */
  unit: string
  product?: string
  line?: string
  recipe?: string
  machine?: string
}

/** `kind:id`. */
export type Name = string
export type Grams = number
export type Castings = number
/** Milliseconds since 1970-01-01T00:00Z. */
export type Ms = number

/** What is traced, and statements name. */
export const THINGS = [
  'lot',
  'bin',
  'charge',
  'furnace',
  'heat',
  'ladle',
  'sand',
  'molds',
  'pour',
  'load',
  'tote',
  'pack',
  'pan',
  'shipment',
] as const
export type TracedKind = (typeof THINGS)[number]

/** Beside what is traced, what only facts name. */
export const KINDS = [
  ...THINGS,
  'line',
  'machine',
  'limits',
  'return',
  'hold',
  'recall',
  'drill',
  'complaint',
] as const
export type Kind = (typeof KINDS)[number]

export const STATIONS = [
  'receive',
  'melt',
  'mold',
  'pour',
  'clean',
  'season',
  'inspect',
  'ship',
  'quality',
] as const
export type Station = (typeof STATIONS)[number]

export const STEPS = [
  'shake-out',
  'tumble',
  'blast',
  'grind',
  'wash',
  'dry',
  'sort',
  'oil',
  'bake',
  'strip',
] as const
export type Step = (typeof STEPS)[number]

export const ROLES = [
  'metallic',
  'alloy',
  'carburizer',
  'inoculant',
  'coagulant',
  'binder',
  'oil',
  'shot',
  'other',
] as const
export type Role = (typeof ROLES)[number]

export const HOWS = ['weighed', 'counted', 'metered', 'book', 'estimated', 'target'] as const
export type How = (typeof HOWS)[number]

export const MIXINGS = ['mixed', 'first-in-first-out', 'last-in-first-out', 'unknown'] as const
export type Mixing = (typeof MIXINGS)[number]
