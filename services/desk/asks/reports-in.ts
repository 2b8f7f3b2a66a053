// Made by npm run asks from reports-in.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type Station =
  | 'RECEIVE'
  | 'MELT'
  | 'MOLD'
  | 'POUR'
  | 'CLEAN'
  | 'SEASON'
  | 'INSPECT'
  | 'SHIP'
  | 'QUALITY';

export type CompletenessVerdict =
  | 'WHOLE'
  | 'WAITING'
  | 'GAPS';

export type ReportsInQueryVariables = Exact<{ [key: string]: never; }>;


export type ReportsInQuery = { reportsIn: { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> } };

export const askReportsIn: Ask<ReportsInQuery, ReportsInQueryVariables> = {"document":"sha256:9179a5017b9aece9bbed4d1641567838af037de616eeb97719b88e67787d48e2","operation":"ReportsIn"}
