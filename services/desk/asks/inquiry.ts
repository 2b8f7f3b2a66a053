// Made by npm run asks from inquiry.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type ComplaintInput = {
  reportId: string;
  mark?: string | null | undefined;
  product?: string | null | undefined;
  defect?: string | null | undefined;
  words?: string | null | undefined;
  hurt: boolean;
  receivedAt?: string | null | undefined;
  callBackAt?: string | null | undefined;
};

export type Reassurance =
  | 'RECALLED'
  | 'NOT_YET'
  | 'CANNOT_SAY'
  | 'MAY';

export type CompletenessVerdict =
  | 'WHOLE'
  | 'WAITING'
  | 'GAPS';

export type InquiryQueryVariables = Exact<{
  mark: string;
  customer?: string | null | undefined;
}>;


export type InquiryQuery = { inquiry:
    | { __typename: 'Inquiry', mark: string, reassurance: Reassurance, say: Array<string>, because: string, next: string, packs: number, castings: number, shippedOn: string | null, shippedToCaller: boolean | null, inspected: string | null, complaints: number, asOf: string, products: Array<{ name: string }>, made: { from: string, to: string } | null, completeness: { verdict: CompletenessVerdict, sentence: string }, cautions: Array<{ sentence: string }> }
    | { __typename: 'MarkUnclear', written: string, askCaller: string, reassurance: Reassurance, say: Array<string>, candidates: Array<{ mark: string, products: Array<{ name: string }>, made: { from: string, to: string } | null }> }
    | { __typename: 'MarkNotFound', written: string, sentence: string, near: Array<string> }
   };

export type WriteDownMutationVariables = Exact<{
  input: ComplaintInput;
}>;


export type WriteDownMutation = { recordComplaint:
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

export const askInquiry: Ask<InquiryQuery, InquiryQueryVariables> = {"document":"sha256:409169f0281968642b3991b2841008fd7f7f263c6213a30d347810e2f3a950a6","operation":"Inquiry"}

export const askWriteDown: Ask<WriteDownMutation, WriteDownMutationVariables> = {"document":"sha256:409169f0281968642b3991b2841008fd7f7f263c6213a30d347810e2f3a950a6","operation":"WriteDown"}
