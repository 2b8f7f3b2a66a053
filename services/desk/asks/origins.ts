// Made by npm run asks from origins.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
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

export type ThingBy =
  {   id: string; mark?: never; scan?: never; }
  |  { id?: never;   mark: string; scan?: never; }
  |  { id?: never; mark?: never;   scan: string; };

export type BathChange =
  | 'CHARGED'
  | 'ADDED'
  | 'TAPPED'
  | 'MOVED'
  | 'MEASURED';

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

export type OriginsQueryVariables = Exact<{
  of: ThingBy;
  asOf?: string | null | undefined;
  most: number;
}>;


export type OriginsQuery = { origins:
    | { __typename: 'Origins', id: string, sentence: string, asOf: string, of:
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
        | { id: string, kind: Kind }
      , path: { columns: Array<{ kind: Kind, step: Step | null, metal: boolean, others: number, othersTogether: number, boxes: Array<{ part: { value: number, interval: { low: number, high: number } | null }, thing:
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
              | { id: string, kind: Kind, at: string | null }
             }> }>, runs: Array<{ from: string, to: string, part: number, heel: boolean }> }, unrecorded: { value: number }, unknownSource: { value: number }, pours: { totalCount: number, edges: Array<{ chance: { value: number }, atLeastOne: { value: number }, bounds: { least: number, most: number }, node: { id: string, measures: Array<{ quantity: string, unit: string, outside: boolean | null, lowestAllowed: number | null, highestAllowed: number | null, value: { value: number } }> } }> }, lots: { totalCount: number, edges: Array<{ byHeel: number, byReturns: number, share: { value: number, interval: { low: number, high: number } | null }, grams: { value: number } | null, node: { id: string, material: string | null } }> }, heats: { edges: Array<{ node: { id: string, furnace: { number: string } | null, misfit: { toldApart: boolean, sentence: string } | null } }> }, touches: Array<{ station: Station, standing: Standing, chance: { value: number }, thing:
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
         | null, machine: { name: string } | null }>, completeness: { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, gaps: Array<{ sentence: string }>, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> }, cautions: Array<{ sentence: string }> }
    | { __typename: 'TrailBroken', sentence: string, of:
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
      , knownUpTo: Array<
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
      >, completeness: { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> } }
    | { __typename: 'Unclear', written: string, candidates: Array<{ because: string, fit: number, thing:
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
          | { id: string, at: string | null }
         }> }
    | { __typename: 'NotKnown', written: string, sentence: string, near: Array<string> }
   };

export type BathAroundQueryVariables = Exact<{
  heat: string;
  of?: Array<string> | string | null | undefined;
  before: number;
  after: number;
}>;


export type BathAroundQuery = { node:
    | { __typename: 'Balance' }
    | { __typename: 'Load' }
    | { __typename: 'Tote' }
    | { __typename: 'Pack' }
    | { __typename: 'Pan' }
    | { __typename: 'Shipment' }
    | { __typename: 'Inspection' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Lot' }
    | { __typename: 'Bin' }
    | { __typename: 'Charge' }
    | { __typename: 'Hold' }
    | { __typename: 'Recall' }
    | { __typename: 'Drill' }
    | { __typename: 'Complaint' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Furnace' }
    | { __typename: 'Heat', id: string, furnace: { number: string } | null, bath: { at: Array<string>, change: Array<BathChange>, heat: Array<string | null>, kg: Array<number>, share: Array<number>, shareLow: Array<number>, shareHigh: Array<number> } | null }
    | { __typename: 'Ladle' }
    | { __typename: 'Sand' }
    | { __typename: 'Molds' }
    | { __typename: 'Pour' }
    | { __typename: 'Origins' }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach' }
    | { __typename: 'Report' }
   | null };

export type OriginsAgainQueryVariables = Exact<{
  id: string;
}>;


export type OriginsAgainQuery = { answer:
    | { __typename: 'Balance' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Origins', asOf: string, of:
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
       }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach' }
   | null };

export type OriginsSinceQueryVariables = Exact<{
  id: string;
}>;


export type OriginsSinceQuery = { answer:
    | { __typename: 'Balance' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Origins', since: { sentence: string, things: { edges: Array<{ before: number, now: number, node:
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
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach' }
   | null };

export type RestsFragment = { setAside: number, namedOnly: number, inferred: number, conflicts: number, verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export type HeardFragment = { verdict: CompletenessVerdict, sentence: string, asOf: string, stations: Array<{ station: Station, heardUpTo: string | null, waiting: number, lateMinutes: number }> };

export const askOrigins: Ask<OriginsQuery, OriginsQueryVariables> = {"document":"sha256:10995d5355a09ded7c136c32b38f99d5c11269c33758353f2b6089f6c27d397f","operation":"Origins"}

export const askBathAround: Ask<BathAroundQuery, BathAroundQueryVariables> = {"document":"sha256:10995d5355a09ded7c136c32b38f99d5c11269c33758353f2b6089f6c27d397f","operation":"BathAround"}

export const askOriginsAgain: Ask<OriginsAgainQuery, OriginsAgainQueryVariables> = {"document":"sha256:10995d5355a09ded7c136c32b38f99d5c11269c33758353f2b6089f6c27d397f","operation":"OriginsAgain"}

export const askOriginsSince: Ask<OriginsSinceQuery, OriginsSinceQueryVariables> = {"document":"sha256:10995d5355a09ded7c136c32b38f99d5c11269c33758353f2b6089f6c27d397f","operation":"OriginsSince"}
