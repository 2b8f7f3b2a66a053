// Made by npm run asks from drill.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type MatterState =
  | 'OPEN'
  | 'CLOSED';

export type DrillInput = {
  reportId: string;
  of?: string | null | undefined;
};

export type EndDrillInput = {
  reportId: string;
  drill: string;
};

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

export const askDrills: Ask<DrillsQuery, DrillsQueryVariables> = {"document":"sha256:4580061ec25b2d884f044c4c3b2425c693d8fee6c2232fd926218f9d72111ba5","operation":"Drills"}

export const askStartDrill: Ask<StartDrillMutation, StartDrillMutationVariables> = {"document":"sha256:4580061ec25b2d884f044c4c3b2425c693d8fee6c2232fd926218f9d72111ba5","operation":"StartDrill"}

export const askEndDrill: Ask<EndDrillMutation, EndDrillMutationVariables> = {"document":"sha256:4580061ec25b2d884f044c4c3b2425c693d8fee6c2232fd926218f9d72111ba5","operation":"EndDrill"}
