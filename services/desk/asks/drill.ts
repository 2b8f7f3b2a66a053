// Made by npm run asks from drill.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type DrillInput = {
  reportId: string;
  of?: string | null | undefined;
};

export type EndDrillInput = {
  reportId: string;
  drill: string;
};

export type MatterState =
  | 'OPEN'
  | 'CLOSED';

export type DrillsQueryVariables = Exact<{ [key: string]: never; }>;


export type DrillsQuery = { drills: { totalCount: number, edges: Array<{ node: { id: string, number: string, state: MatterState, at: string, picked: string, partsMissing: number, castings: number | null, accounted: number | null, answers: Array<string>, covers: { edges: Array<{ node:
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
             }> }, laps: Array<{ part: string, seconds: number }> } }> } };

export type StartDrillMutationVariables = Exact<{
  input: DrillInput;
}>;


export type StartDrillMutation = { startDrill:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain' }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type EndDrillMutationVariables = Exact<{
  input: EndDrillInput;
}>;


export type EndDrillMutation = { endDrill:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain' }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

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

export const askDrills: Ask<DrillsQuery, DrillsQueryVariables> = {"document":"sha256:e78f16be7a132854320a34b2218a6ed8117358213e19051f039a92becb130946","operation":"Drills"}

export const askStartDrill: Ask<StartDrillMutation, StartDrillMutationVariables> = {"document":"sha256:e78f16be7a132854320a34b2218a6ed8117358213e19051f039a92becb130946","operation":"StartDrill"}

export const askEndDrill: Ask<EndDrillMutation, EndDrillMutationVariables> = {"document":"sha256:e78f16be7a132854320a34b2218a6ed8117358213e19051f039a92becb130946","operation":"EndDrill"}
