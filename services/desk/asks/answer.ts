// Made by npm run asks from answer.graphql.
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

export type FormerAnswerQueryVariables = Exact<{
  id: string;
}>;


export type FormerAnswerQuery = { answer:
    | { __typename: 'Balance', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Causes', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Concentration', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Chart', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Capability', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Origins', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'RateChart', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Rates', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Reach', id: string, question: string, sentence: string, asOf: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
   | null };

export type RestsFragment = { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export type HeardFragment = { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export const askFormerAnswer: Ask<FormerAnswerQuery, FormerAnswerQueryVariables> = {"document":"sha256:260211af52cbb7feb047d0f1505a12a39a6b81a0e2833d1155cb9223be235fd8","operation":"FormerAnswer"}
