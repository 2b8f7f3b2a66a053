// Made by npm run asks from causes.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type CausesVerdict =
  | 'ONE_STANDS_OUT'
  | 'SEVERAL_REMAIN'
  | 'NOTHING_STANDS_OUT';

export type FactorSort =
  | 'LOT_SHARE'
  | 'LEVEL'
  | 'BATCH'
  | 'MEASURE'
  | 'NOT_RECORDED'
  | 'PAIR'
  | 'TIME';

export type DefectQuestion = {
  stage: string;
  defects?: Array<string> | null | undefined;
  product?: string | null | undefined;
  window: Window;
};

export type Window = {
  from: string;
  to: string;
};

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

export type CausesQueryVariables = Exact<{
  about: DefectQuestion;
  asOf?: string | null | undefined;
}>;


export type CausesQuery = { causes:
    | { __typename: 'Causes', id: string, sentence: string, asOf: string, verdict: CausesVerdict, nothing: number, falseAlarms: number, weighed: number, counted: { castings: number, defective: number }, groups: Array<{ belief: number, inSet: boolean, tellApart: Array<string>, factors: Array<{ sort: FactorSort, name: string, thing:
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
            | { id: string }
           | null }>, with: { castings: number, defective: number, rate: { value: number, interval: { low: number, high: number } | null } }, without: { castings: number, defective: number, rate: { value: number, interval: { low: number, high: number } | null } }, times: { value: number, interval: { low: number, high: number } | null }, dose: { dose: Array<number>, castings: Array<number>, rate: Array<number>, low: Array<number>, high: Array<number> } | null }>, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ code: string, sentence: string }> }
    | { __typename: 'NothingToExplain', sentence: string, castings: number, defective: number, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> } }
   };

export type CountFragment = { castings: number, defective: number, rate: { value: number, interval: { low: number, high: number } | null } };

export type EndsFragment = { value: number, interval: { low: number, high: number } | null };

export type RestsFragment = { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export type HeardFragment = { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export const askCauses: Ask<CausesQuery, CausesQueryVariables> = {"document":"sha256:c8f7e90f7726e31ffa0ab1742a6a98b729eb1a7289bb80c3d2f632a54007bca3","operation":"Causes"}
