// What really happened, kept apart from what was reported.
import { CastingTruth, type Flaw } from './casting-truth.ts'
import type { Chemistry } from './iron.ts'
import { MetalTruth } from './metal-truth.ts'
import type { Mishap } from './mishaps.ts'

/** A fault that was put into the reports, and the event it is in. */
export interface Fault {
  fault: FaultName
  /** CloudEvents key of the faulty event, or of the one that is missing. */
  source: string
  id: string
  /** The thing the event is about. */
  subject?: string | undefined
  sentence: string
  /** Where a lot was written down for another. */
  swap?: Swap
}

export interface Swap {
  /** What went in, and what was written down. */
  of: string
  said: string
  kg: number
}

export type FaultName =
  | 'corrected'
  | 'voided'
  | 'duplicate'
  | 'late'
  | 'misspelt-field'
  | 'wrong-unit'
  | 'negative-weight'
  | 'impossible-chemistry'
  | 'unknown-type'
  | 'wrong-station'
  | 'malformed'
  | 'never-reported'
  | 'not-scanned'
  | Mishap

/** The lot that spoils castings, and how: chance of the flaw = base + slope × its share in the pour. */
export interface Cause {
  lot: string
  flaw: Flaw
  base: number
  slope: number
}

export interface TruePour {
  pour: string
  ladle: string
  heat: string
  furnace: string
  line: string
}

export interface TruePack {
  pack: string
  marks: string[]
  shipment?: string
  customer?: string
}

export class Truth {
  readonly metal = new MetalTruth()
  readonly castings = new CastingTruth()
  readonly faults: Fault[] = []
  readonly pours: TruePour[] = []
  readonly packs = new Map<string, TruePack>()
  /** Pans with a serial of their own, and the casting each is. */
  readonly pans = new Map<string, number>()
  /** What lots as received really hold, by thing. */
  readonly analyses = new Map<string, Chemistry>()
  cause: Cause | undefined
}
