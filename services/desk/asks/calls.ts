// Made by npm run asks from calls.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
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

export type Outcome =
  | 'HELD'
  | 'RETURNED'
  | 'DESTROYED'
  | 'SOLD'
  | 'NOT_FOUND';

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

export const askCalls: Ask<CallsQuery, CallsQueryVariables> = {"document":"sha256:0945154e19ad3f376715fe11a843c1517fbac43b5167f3de8cadd32bc1f16186","operation":"Calls"}

export const askTold: Ask<ToldMutation, ToldMutationVariables> = {"document":"sha256:0945154e19ad3f376715fe11a843c1517fbac43b5167f3de8cadd32bc1f16186","operation":"Told"}

export const askAnswered: Ask<AnsweredMutation, AnsweredMutationVariables> = {"document":"sha256:0945154e19ad3f376715fe11a843c1517fbac43b5167f3de8cadd32bc1f16186","operation":"Answered"}
