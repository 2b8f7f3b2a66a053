// Made by npm run asks from calls.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type Outcome =
  | 'HELD'
  | 'RETURNED'
  | 'DESTROYED'
  | 'SOLD'
  | 'NOT_FOUND';

export type ToldInput = {
  reportId: string;
  recall: string;
  customer: string;
};

export type AnswerInput = {
  reportId: string;
  recall: string;
  customer: string;
  lines: Array<AnswerLine>;
};

export type AnswerLine = {
  pack?: string | null | undefined;
  mark?: string | null | undefined;
  castings: number;
  outcome: Outcome;
};

export type CallsQueryVariables = Exact<{
  after?: string | null | undefined;
}>;


export type CallsQuery = { myCalls: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ node: { recall: string, customer: string, marks: Array<string>, castings: number, say: Array<string>, toldAt: string | null, answered: number } }> } };

export type ToldMutationVariables = Exact<{
  input: ToldInput;
}>;


export type ToldMutation = { recordTold:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain' }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export type AnsweredMutationVariables = Exact<{
  input: AnswerInput;
}>;


export type AnsweredMutation = { recordAnswer:
    | { __typename: 'Published', sentence: string, matter: string, recordedAt: string }
    | { __typename: 'AlreadyPublished', sentence: string, recordedAt: string }
    | { __typename: 'LookAgain' }
    | { __typename: 'Refused', problems: Array<{ field: string, sentence: string }> }
   };

export const askCalls: Ask<CallsQuery, CallsQueryVariables> = {"document":"sha256:240dc2ac47eb58d7469740b113bc2db96874483851aeca2669700d0ddcf80ea4","operation":"Calls"}

export const askTold: Ask<ToldMutation, ToldMutationVariables> = {"document":"sha256:240dc2ac47eb58d7469740b113bc2db96874483851aeca2669700d0ddcf80ea4","operation":"Told"}

export const askAnswered: Ask<AnsweredMutation, AnsweredMutationVariables> = {"document":"sha256:240dc2ac47eb58d7469740b113bc2db96874483851aeca2669700d0ddcf80ea4","operation":"Answered"}
