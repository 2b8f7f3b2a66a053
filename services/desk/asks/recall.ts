// Made by npm run asks from recall.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type PartOf = {
  of: string;
  castings?: number | null | undefined;
};

export type ReleaseInput = {
  reportId: string;
  hold: string;
  of?: Array<PartOf> | null | undefined;
  reason: string;
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

export type CloseInput = {
  reportId: string;
  recall: string;
  reason: string;
};

export type DispositionInput = {
  reportId: string;
  under?: string | null | undefined;
  of: Array<PartOf>;
  disposition: Disposition;
  spot?: string | null | undefined;
  reason: string;
};

export type GiveCallsInput = {
  reportId: string;
  recall: string;
  customers: Array<string>;
  to: string;
};

export type Place =
  | 'IN_PROCESS'
  | 'IN_STOCK'
  | 'SHIPPED'
  | 'SCRAPPED'
  | 'UNACCOUNTED';

export type MatterState =
  | 'OPEN'
  | 'CLOSED';

export type Became =
  | 'KEPT_APART'
  | 'USE'
  | 'REWORK'
  | 'STRIP'
  | 'SCRAP'
  | 'RETURN_TO_SUPPLIER'
  | 'HELD'
  | 'RETURNED'
  | 'DESTROYED'
  | 'SOLD'
  | 'NOT_FOUND';

export type Disposition =
  | 'KEPT_APART'
  | 'USE'
  | 'REWORK'
  | 'STRIP'
  | 'SCRAP'
  | 'RETURN_TO_SUPPLIER';

export type MatterQueryVariables = Exact<{
  of: string;
}>;


export type MatterQuery = { node:
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
    | { __typename: 'Hold', id: string, number: string, state: MatterState, at: string, reason: string, say: string | null, due: string | null, partsMissing: number, covers: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ castings: number | null, released: number, disposed: number, node:
            | { id: string }
            | { id: string }
            | { marks: Array<string>, id: string, products: Array<{ name: string }>, castings: { value: number } | null, places: Array<{ place: Place, spot: string | null }> }
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
           }> } }
    | { __typename: 'Recall', id: string, number: string, state: MatterState, at: string, reason: string, say: string | null, due: string | null, basedOn: Array<string>, partsMissing: number, closedBecause: string | null, found: { castings: number, shipped: number, notKnown: number, effectiveness: number | null, parts: Array<{ became: Became, castings: number }> }, clocks: Array<{ duty: string, due: string, source: string }>, cautions: Array<{ sentence: string }>, calls: { totalCount: number, edges: Array<{ node: { customer: string, marks: Array<string>, castings: number, givenTo: string | null, toldAt: string | null, answered: number } }> }, covers: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ castings: number | null, released: number, disposed: number, node:
            | { id: string }
            | { id: string }
            | { marks: Array<string>, id: string, products: Array<{ name: string }>, castings: { value: number } | null, places: Array<{ place: Place, spot: string | null }> }
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
           }> } }
    | { __typename: 'Drill' }
    | { __typename: 'Complaint' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Furnace' }
    | { __typename: 'Heat' }
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

export type ToFindQueryVariables = Exact<{
  of: string;
  after?: string | null | undefined;
}>;


export type ToFindQuery = { node:
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
    | { __typename: 'Hold', partsMissing: number, covers: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ castings: number | null, released: number, disposed: number, node:
            | { id: string }
            | { id: string }
            | { marks: Array<string>, id: string, products: Array<{ name: string }>, castings: { value: number } | null, places: Array<{ place: Place, spot: string | null }> }
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
           }> } }
    | { __typename: 'Recall', partsMissing: number, covers: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ castings: number | null, released: number, disposed: number, node:
            | { id: string }
            | { id: string }
            | { marks: Array<string>, id: string, products: Array<{ name: string }>, castings: { value: number } | null, places: Array<{ place: Place, spot: string | null }> }
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
           }> } }
    | { __typename: 'Drill' }
    | { __typename: 'Complaint' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Furnace' }
    | { __typename: 'Heat' }
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

export type CoversFragment = { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ castings: number | null, released: number, disposed: number, node:
      | { id: string }
      | { id: string }
      | { marks: Array<string>, id: string, products: Array<{ name: string }>, castings: { value: number } | null, places: Array<{ place: Place, spot: string | null }> }
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
     }> };

export type MattersQueryVariables = Exact<{ [key: string]: never; }>;


export type MattersQuery = { recalls: { edges: Array<{ node: { id: string, number: string, state: MatterState, at: string, reason: string } }> }, holds: { edges: Array<{ node: { id: string, number: string, state: MatterState, at: string, reason: string } }> } };

export type SinceOpenedQueryVariables = Exact<{
  answer: string;
}>;


export type SinceOpenedQuery = { node:
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
    | { __typename: 'Heat' }
    | { __typename: 'Ladle' }
    | { __typename: 'Sand' }
    | { __typename: 'Molds' }
    | { __typename: 'Pour' }
    | { __typename: 'Origins' }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach', since: { answer: string, sentence: string, joined: number } | null }
    | { __typename: 'Report' }
   | null };

export type WidenMutationVariables = Exact<{
  input: RecallInput;
}>;


export type WidenMutation = { openRecall:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain', changes: { sentence: string } }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type CloseRecallMutationVariables = Exact<{
  input: CloseInput;
}>;


export type CloseRecallMutation = { closeRecall:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain', changes: { sentence: string } }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type ReleaseMutationVariables = Exact<{
  input: ReleaseInput;
}>;


export type ReleaseMutation = { releaseHold:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain', changes: { sentence: string } }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type GiveCallsMutationVariables = Exact<{
  input: GiveCallsInput;
}>;


export type GiveCallsMutation = { giveCalls:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain', changes: { sentence: string } }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type FoundMutationVariables = Exact<{
  input: DispositionInput;
}>;


export type FoundMutation = { recordDisposition:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain', changes: { sentence: string } }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

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

export const askMatter: Ask<MatterQuery, MatterQueryVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"Matter"}

export const askToFind: Ask<ToFindQuery, ToFindQueryVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"ToFind"}

export const askMatters: Ask<MattersQuery, MattersQueryVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"Matters"}

export const askSinceOpened: Ask<SinceOpenedQuery, SinceOpenedQueryVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"SinceOpened"}

export const askWiden: Ask<WidenMutation, WidenMutationVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"Widen"}

export const askCloseRecall: Ask<CloseRecallMutation, CloseRecallMutationVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"CloseRecall"}

export const askRelease: Ask<ReleaseMutation, ReleaseMutationVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"Release"}

export const askGiveCalls: Ask<GiveCallsMutation, GiveCallsMutationVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"GiveCalls"}

export const askFound: Ask<FoundMutation, FoundMutationVariables> = {"document":"sha256:49521aa8880e92b06b902c93497ff095893e4bdad02f23a0f8e029f546eb77de","operation":"Found"}
