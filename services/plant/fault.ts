// What can be wrong with reports: what every foundry gets wrong now and then, and mishaps on request.

export const MISHAPS = [
  'late',
  'duplicated',
  'missing',
  'mistaken',
  'swapped',
  'slipped',
  'forgotten',
] as const
export type Mishap = (typeof MISHAPS)[number]

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
