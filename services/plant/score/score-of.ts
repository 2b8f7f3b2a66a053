import type { Mishap } from '../fault.ts'
import { simulate } from '../plant.ts'
import { hear } from './hear.ts'
import { type Sheet, sheetOf } from './sheet.ts'

export interface Scored {
  /** A whole number; the same one gives the same sheet. */
  seed: number
  /** Production days. */
  days: number
  mishaps: readonly Mishap[]
}

/** Works a dirty foundry, takes in what it reports, asks about every metallic lot and compares. */
export function scoreOf({ seed, days, mishaps }: Scored): Sheet {
  const { reports, truth } = simulate({ seed, days, faults: false, dirty: true, mishaps })
  return sheetOf(seed, truth, hear(reports), reports.length)
}
