// Made by npm run asks from reach.graphql.
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

export type PartOf = {
  of: string;
  castings?: number | null | undefined;
};

export type ScopeOf =
  {   things: Array<PartOf>; answer?: never; }
  |  { things?: never;   answer: string; };

export type HoldInput = {
  reportId: string;
  of: ScopeOf;
  reason: string;
  say?: string | null | undefined;
  due?: string | null | undefined;
  evenIfChanged?: boolean;
};

export type RecallInput = {
  reportId: string;
  answer: string;
  recall?: string | null | undefined;
  reason: string;
  say: string;
  due?: string | null | undefined;
  evenIfChanged?: boolean;
};

export type Kind =
  | 'LOT'
  | 'BIN'
  | 'CHARGE'
  | 'FURNACE'
  | 'HEAT'
  | 'LADLE'
  | 'SAND'
  | 'MOLDS'
  | 'POUR'
  | 'LOAD'
  | 'TOTE'
  | 'PACK'
  | 'PAN'
  | 'SHIPMENT';

export type Standing =
  | 'CERTAIN'
  | 'POSSIBLE'
  | 'CLEAR'
  | 'UNKNOWN';

export type Place =
  | 'IN_PROCESS'
  | 'IN_STOCK'
  | 'SHIPPED'
  | 'SCRAPPED'
  | 'UNACCOUNTED';

export type Window = {
  from: string;
  to: string;
};

export type MeasureOf = {
  quantity: string;
  window: Window;
  on?: Kind | null | undefined;
  machine?: string | null | undefined;
  lessPredicted?: boolean;
};

export type ReachFrom =
  {   things: Array<string>; machine?: never; marks?: never; measure?: never; factor?: never; }
  |  { things?: never;   machine: MachineWindow; marks?: never; measure?: never; factor?: never; }
  |  { things?: never; machine?: never;   marks: Array<string>; measure?: never; factor?: never; }
  |  { things?: never; machine?: never; marks?: never;   measure: MeasureOutside; factor?: never; }
  |  { things?: never; machine?: never; marks?: never; measure?: never;   factor: FactorOf; };

export type MeasureOutside = {
  of: MeasureOf;
  lowest?: number | null | undefined;
  highest?: number | null | undefined;
};

export type FactorOf = {
  about: DefectQuestion;
  name: string;
};

export type MachineWindow = {
  machine: string;
  window: Window;
};

export type AffectedBy =
  {   share: number; dose?: never; touched?: never; }
  |  { share?: never;   dose: number; touched?: never; }
  |  { share?: never; dose?: never;   touched: boolean; };

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

export type ReachQueryVariables = Exact<{
  from: ReachFrom;
  affected: AffectedBy;
  asOf?: string | null | undefined;
}>;


export type ReachQuery = { reach:
    | { __typename: 'Reach', id: string, question: string, sentence: string, asOf: string, leastShare: number | null, mostLeftOutGrams: number | null, from: Array<
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { material: string | null, id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
      >, usualDose: { share: number, pours: number } | null, castings: { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } }, leftOut: { value: number } | null, places: Array<{ place: Place, packs: number, castings: { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } } }>, customers: { totalCount: number, edges: Array<{ packs: number, node: { name: string }, castings: { certain: number, possible: number, unknown: number } }> }, packs: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ standing: Standing, place: Place, spot: string | null, node: { id: string, marks: Array<string>, products: Array<{ name: string }>, castings: { value: number } | null }, chance: { value: number }, expected: { value: number } }> }, strip: { at: Array<string>, until: string, share: Array<number>, low: Array<number>, high: Array<number>, gap: Array<number>, castings: Array<number>, unknown: Array<number> } | null, curve: { share: Array<number>, expected: Array<number>, toHold: Array<number>, certain: Array<number>, leftOut: Array<number> } | null, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, gaps: Array<{ sentence: string, castings: number | null }>, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ code: string, sentence: string }> }
    | { __typename: 'TrailBroken', sentence: string, knownUpTo: Array<
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
      >, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, gaps: Array<{ sentence: string, castings: number | null }>, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> } }
    | { __typename: 'Unclear', written: string, candidates: Array<{ because: string, fit: number, thing:
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
         }> }
    | { __typename: 'NotKnown', sentence: string, near: Array<string> }
   };

export type ReachAgainQueryVariables = Exact<{
  id: string;
}>;


export type ReachAgainQuery = { answer:
    | { __typename: 'Balance' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Origins' }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach', id: string, question: string, sentence: string, asOf: string, leastShare: number | null, mostLeftOutGrams: number | null, from: Array<
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { material: string | null, id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
        | { id: string }
      >, usualDose: { share: number, pours: number } | null, castings: { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } }, leftOut: { value: number } | null, places: Array<{ place: Place, packs: number, castings: { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } } }>, customers: { totalCount: number, edges: Array<{ packs: number, node: { name: string }, castings: { certain: number, possible: number, unknown: number } }> }, packs: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ standing: Standing, place: Place, spot: string | null, node: { id: string, marks: Array<string>, products: Array<{ name: string }>, castings: { value: number } | null }, chance: { value: number }, expected: { value: number } }> }, strip: { at: Array<string>, until: string, share: Array<number>, low: Array<number>, high: Array<number>, gap: Array<number>, castings: Array<number>, unknown: Array<number> } | null, curve: { share: Array<number>, expected: Array<number>, toHold: Array<number>, certain: Array<number>, leftOut: Array<number> } | null, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, gaps: Array<{ sentence: string, castings: number | null }>, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ code: string, sentence: string }> }
   | null };

export type ReachAtQueryVariables = Exact<{
  id: string;
  share: number;
}>;


export type ReachAtQuery = { answer:
    | { __typename: 'Balance' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Origins' }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach', at: { share: number, packs: number, customers: number, castings: { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } }, leftOut: { value: number } } | null }
   | null };

export type ReachSinceQueryVariables = Exact<{
  id: string;
}>;


export type ReachSinceQuery = { answer:
    | { __typename: 'Balance' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Origins' }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach', since: { sentence: string, joined: number, left: number, until: string, things: { totalCount: number, edges: Array<{ before: Standing, now: Standing, castingsBefore: number, castingsNow: number, node:
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
             }> }, reports: { totalCount: number } } | null }
   | null };

export type ReachPacksQueryVariables = Exact<{
  id: string;
  after?: string | null | undefined;
}>;


export type ReachPacksQuery = { answer:
    | { __typename: 'Balance' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Origins' }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach', packs: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ standing: Standing, place: Place, spot: string | null, node: { id: string, marks: Array<string>, products: Array<{ name: string }>, castings: { value: number } | null }, chance: { value: number }, expected: { value: number } }> } }
   | null };

export type HoldMutationVariables = Exact<{
  input: HoldInput;
}>;


export type HoldMutation = { placeHold:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain', changes: { sentence: string } }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type RecallMutationVariables = Exact<{
  input: RecallInput;
}>;


export type RecallMutation = { openRecall:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain', changes: { sentence: string } }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type FoundFragment = { id: string, question: string, sentence: string, asOf: string, leastShare: number | null, mostLeftOutGrams: number | null, from: Array<
    | { id: string }
    | { id: string }
    | { id: string }
    | { id: string }
    | { id: string }
    | { material: string | null, id: string }
    | { id: string }
    | { id: string }
    | { id: string }
    | { id: string }
    | { id: string }
    | { id: string }
    | { id: string }
    | { id: string }
  >, usualDose: { share: number, pours: number } | null, castings: { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } }, leftOut: { value: number } | null, places: Array<{ place: Place, packs: number, castings: { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } } }>, customers: { totalCount: number, edges: Array<{ packs: number, node: { name: string }, castings: { certain: number, possible: number, unknown: number } }> }, packs: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ standing: Standing, place: Place, spot: string | null, node: { id: string, marks: Array<string>, products: Array<{ name: string }>, castings: { value: number } | null }, chance: { value: number }, expected: { value: number } }> }, strip: { at: Array<string>, until: string, share: Array<number>, low: Array<number>, high: Array<number>, gap: Array<number>, castings: Array<number>, unknown: Array<number> } | null, curve: { share: Array<number>, expected: Array<number>, toHold: Array<number>, certain: Array<number>, leftOut: Array<number> } | null, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, gaps: Array<{ sentence: string, castings: number | null }>, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ code: string, sentence: string }> };

export type StandingsFragment = { certain: number, possible: number, clear: number, unknown: number, toHold: number, expected: { value: number, interval: { low: number, high: number } | null } };

export type PacksFragment = { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ standing: Standing, place: Place, spot: string | null, node: { id: string, marks: Array<string>, products: Array<{ name: string }>, castings: { value: number } | null }, chance: { value: number }, expected: { value: number } }> };

export type BehindFragment = { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, gaps: Array<{ sentence: string, castings: number | null }>, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

type Decided_Published_Fragment = { __typename: 'Published', sentence: string, matter: string, recordedAt: string };

type Decided_AlreadyPublished_Fragment = { __typename: 'AlreadyPublished', sentence: string, recordedAt: string };

type Decided_LookAgain_Fragment = { __typename: 'LookAgain', changes: { sentence: string } };

type Decided_Refused_Fragment = { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> };

export type DecidedFragment =
  | Decided_Published_Fragment
  | Decided_AlreadyPublished_Fragment
  | Decided_LookAgain_Fragment
  | Decided_Refused_Fragment
;

type Outcome_Published_Fragment = { __typename: 'Published', sentence: string, matter: string, recordedAt: string };

type Outcome_AlreadyPublished_Fragment = { __typename: 'AlreadyPublished', sentence: string, recordedAt: string };

type Outcome_LookAgain_Fragment = { __typename: 'LookAgain' };

type Outcome_Refused_Fragment = { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> };

export type OutcomeFragment =
  | Outcome_Published_Fragment
  | Outcome_AlreadyPublished_Fragment
  | Outcome_LookAgain_Fragment
  | Outcome_Refused_Fragment
;

export type EndsFragment = { value: number, interval: { low: number, high: number } | null };

export type RestsFragment = { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export type HeardFragment = { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export const askReach: Ask<ReachQuery, ReachQueryVariables> = {"document":"sha256:8226184744bbd3008afc40d2f257df0ec29d2ee10f1bf60bf4bc7bb37c07a98a","operation":"Reach"}

export const askReachAgain: Ask<ReachAgainQuery, ReachAgainQueryVariables> = {"document":"sha256:8226184744bbd3008afc40d2f257df0ec29d2ee10f1bf60bf4bc7bb37c07a98a","operation":"ReachAgain"}

export const askReachAt: Ask<ReachAtQuery, ReachAtQueryVariables> = {"document":"sha256:8226184744bbd3008afc40d2f257df0ec29d2ee10f1bf60bf4bc7bb37c07a98a","operation":"ReachAt"}

export const askReachSince: Ask<ReachSinceQuery, ReachSinceQueryVariables> = {"document":"sha256:8226184744bbd3008afc40d2f257df0ec29d2ee10f1bf60bf4bc7bb37c07a98a","operation":"ReachSince"}

export const askReachPacks: Ask<ReachPacksQuery, ReachPacksQueryVariables> = {"document":"sha256:8226184744bbd3008afc40d2f257df0ec29d2ee10f1bf60bf4bc7bb37c07a98a","operation":"ReachPacks"}

export const askHold: Ask<HoldMutation, HoldMutationVariables> = {"document":"sha256:8226184744bbd3008afc40d2f257df0ec29d2ee10f1bf60bf4bc7bb37c07a98a","operation":"Hold"}

export const askRecall: Ask<RecallMutation, RecallMutationVariables> = {"document":"sha256:8226184744bbd3008afc40d2f257df0ec29d2ee10f1bf60bf4bc7bb37c07a98a","operation":"Recall"}
