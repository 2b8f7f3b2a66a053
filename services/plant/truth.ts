// What really happened, kept apart from what was reported.
import { CastingTruth, type Flaw } from './casting-truth.ts'
import type { Fault } from './fault.ts'
import type { Chemistry } from './iron.ts'
import { MetalTruth } from './metal-truth.ts'

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
