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

export type HeardFragment = { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export const askReportsIn: Ask<ReportsInQuery, ReportsInQueryVariables> = {"document":"sha256:742040b24ccbbf0d889629834ad10bcee05608c5eaf2fee6cd69b61a13e7f459","operation":"ReportsIn"}
