// Made by npm run asks from rates.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type DefectQuestion = {
  stage: string;
  defects?: Array<string> | null | undefined;
  product?: string | null | undefined;
  window: Window;
};

export type Step =
  | 'SHAKE_OUT'
  | 'TUMBLE'
  | 'BLAST'
  | 'GRIND'
  | 'WASH'
  | 'DRY'
  | 'SORT'
  | 'OIL'
  | 'BAKE'
  | 'STRIP';

export type Window = {
  from: string;
  to: string;
};

export type LotRole =
  | 'METALLIC'
  | 'ALLOY'
  | 'CARBURIZER'
  | 'INOCULANT'
  | 'COAGULANT'
  | 'BINDER'
  | 'OIL'
  | 'SHOT'
  | 'OTHER';

export type PointPer =
  | 'INSPECTION'
  | 'SHIFT'
  | 'DAY'
  | 'WEEK'
  | 'HEAT';

export type RateBy =
  | 'RECIPE'
  | 'LOT'
  | 'FURNACE'
  | 'LINE'
  | 'PATTERN'
  | 'CAVITY'
  | 'PRODUCT'
  | 'DAY'
  | 'MACHINE'
  | 'SUPPLIER'
  | 'MATERIAL'
  | 'SHIFT';

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

export type RatesQueryVariables = Exact<{
  about: DefectQuestion;
  by: Array<RateBy> | RateBy;
  against?: string | null | undefined;
  ownMetal?: number | null | undefined;
  lot?: string | null | undefined;
  supplier?: string | null | undefined;
  material?: string | null | undefined;
  step?: Step | null | undefined;
  withoutMisfits?: boolean | null | undefined;
  after?: string | null | undefined;
  asOf?: string | null | undefined;
}>;


export type RatesQuery = { defectRates:
    | { __typename: 'Rates', id: string, sentence: string, asOf: string, sql: string, leftOut: number, tooMixed: number, misfitHeats: number, withoutCastings: number, overall: { castings: number, defective: number, rate: { value: number, interval: { low: number, high: number } | null } }, trend: { z: number, chanceAlone: number } | null, changeover: { days: Array<string>, groups: Array<string>, share: Array<Array<number>>, castings: Array<number>, defective: Array<number> } | null, rows: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ node: { group: Array<string>, chanceAlone: number | null, toldApart: boolean, counted: { castings: number, defective: number, rate: { value: number, interval: { low: number, high: number } | null } }, adjusted: { value: number, interval: { low: number, high: number } | null }, steadied: { value: number, interval: { low: number, high: number } | null }, times: { value: number, interval: { low: number, high: number } | null } | null, stretch: { from: string, to: string } | null, charged: Array<{ material: string, written: number | null, weighed: number | null }> } }> }, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ code: string, sentence: string }> }
    | { __typename: 'NothingToExplain', sentence: string, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> } }
   };

export type SplitsQueryVariables = Exact<{ [key: string]: never; }>;


export type SplitsQuery = { lots: { edges: Array<{ node: { id: string, role: LotRole | null, material: string | null, supplier: { name: string } | null } }> } };

export type PointByPointQueryVariables = Exact<{
  about: DefectQuestion;
  per: PointPer;
  points: number;
  asOf?: string | null | undefined;
}>;


export type PointByPointQuery = { rateChart:
    | { __typename: 'RateChart', sentence: string, per: PointPer, at: Array<string>, name: Array<string>, lookedAt: Array<number>, found: Array<number>, value: Array<number>, centre: Array<number>, lowerLimit: Array<number>, upperLimit: Array<number>, signals: Array<{ point: number, sentence: string, source: string }>, cautions: Array<{ sentence: string }> }
    | { __typename: 'NothingToExplain', sentence: string }
   };

export type CountFragment = { castings: number, defective: number, rate: { value: number, interval: { low: number, high: number } | null } };

export type EndsFragment = { value: number, interval: { low: number, high: number } | null };

export type RestsFragment = { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export type HeardFragment = { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export const askRates: Ask<RatesQuery, RatesQueryVariables> = {"document":"sha256:4a85e273bb3196c2bad3a8ebbf1bb217817c28fa8a5810593d0a4c6d9f4ad4e4","operation":"Rates"}

export const askSplits: Ask<SplitsQuery, SplitsQueryVariables> = {"document":"sha256:4a85e273bb3196c2bad3a8ebbf1bb217817c28fa8a5810593d0a4c6d9f4ad4e4","operation":"Splits"}

export const askPointByPoint: Ask<PointByPointQuery, PointByPointQueryVariables> = {"document":"sha256:4a85e273bb3196c2bad3a8ebbf1bb217817c28fa8a5810593d0a4c6d9f4ad4e4","operation":"PointByPoint"}
