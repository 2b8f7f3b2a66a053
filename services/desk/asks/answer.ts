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
    | { __typename: 'Origins', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Reach', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Chart', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Capability', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Concentration', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Balance', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Causes', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'RateChart', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'Rates', id: string, question: string, sentence: string, asOf: string, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, setAside: number, namedOnly: number, inferred: number, conflicts: number, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
   | null };

export const askFormerAnswer: Ask<FormerAnswerQuery, FormerAnswerQueryVariables> = {"document":"sha256:9d982d309110eb391c79b33c01c66fef211a09ec8dc8d98ff3abd997d7915004","operation":"FormerAnswer"}
