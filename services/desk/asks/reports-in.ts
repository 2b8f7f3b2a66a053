// Made by npm run asks from reports-in.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
/** Who reports. */
export type Station =
  /** Goods in and returns. */
  | 'RECEIVE'
  /** Charging, melting, sampling, tapping. */
  | 'MELT'
  /** Pattern, sand, molds. */
  | 'MOLD'
  /** Pouring. */
  | 'POUR'
  /** Shake-out, tumbling, blasting, grinding, washing, drying. */
  | 'CLEAN'
  /** Oiling and baking. */
  | 'SEASON'
  /** Inspection and complaints. */
  | 'INSPECT'
  /** Packing and shipping. */
  | 'SHIP'
  /** Quality: corrections and decisions. */
  | 'QUALITY';

/** Are the reports behind an answer all there? */
export type CompletenessVerdict =
  /** Every report that could touch the answer is in. */
  | 'WHOLE'
  /** Reports are on their way, or a station is silent; nothing is known to be lost. */
  | 'WAITING'
  /** Something needed is set aside, contradicted, or named and never reported. */
  | 'GAPS';

export type ReportsInQueryVariables = Exact<{ [key: string]: never; }>;


export type ReportsInQuery = { reportsIn: { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> } };

export const askReportsIn: Ask<ReportsInQuery, ReportsInQueryVariables> = {"document":"sha256:9179a5017b9aece9bbed4d1641567838af037de616eeb97719b88e67787d48e2","operation":"ReportsIn"}
