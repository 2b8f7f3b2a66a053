// Made by npm run asks from set-aside.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type ReplayInput = {
  report: string;
  edited?: string | null | undefined;
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

export type SetAsideClass =
  | 'UNDECODABLE'
  | 'OVERSIZE'
  | 'SCHEMA'
  | 'UNKNOWN'
  | 'FORGED'
  | 'DOMAIN';

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

export const askSetAside: Ask<SetAsideQuery, SetAsideQueryVariables> = {"document":"sha256:d9e97155269c1e43d85bbcb69f7ba8bc660a1da00f07c836fec6fe1d20be8e9e","operation":"SetAside"}

export const askPutThrough: Ask<PutThroughMutation, PutThroughMutationVariables> = {"document":"sha256:d9e97155269c1e43d85bbcb69f7ba8bc660a1da00f07c836fec6fe1d20be8e9e","operation":"PutThrough"}
