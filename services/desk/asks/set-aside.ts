// Made by npm run asks from set-aside.graphql.
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

export type SetAsideClass =
  | 'UNDECODABLE'
  | 'OVERSIZE'
  | 'SCHEMA'
  | 'UNKNOWN'
  | 'FORGED'
  | 'DOMAIN';

export type ReplayInput = {
  report: string;
  edited?: string | null | undefined;
};

export type SetAsideQueryVariables = Exact<{
  after?: string | null | undefined;
}>;


export type SetAsideQuery = { setAside: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ node: { id: string, station: Station, source: string | null, recordedAt: string, setAsideAs: SetAsideClass | null, setAsideFor: string | null, entered: Array<{ field: string, value: string, unit: string | null }> } }> } };

export type PutThroughMutationVariables = Exact<{
  input: ReplayInput;
}>;


export type PutThroughMutation = { replaySetAside:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain' }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export const askSetAside: Ask<SetAsideQuery, SetAsideQueryVariables> = {"document":"sha256:b01317bce89239907626871354a290bfa366291fd05db02b2e1ff0e3c443e90a","operation":"SetAside"}

export const askPutThrough: Ask<PutThroughMutation, PutThroughMutationVariables> = {"document":"sha256:b01317bce89239907626871354a290bfa366291fd05db02b2e1ff0e3c443e90a","operation":"PutThrough"}
