// Made by npm run asks from inquiry.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type CompletenessVerdict =
  | 'WHOLE'
  | 'WAITING'
  | 'GAPS';

export type Reassurance =
  | 'RECALLED'
  | 'NOT_YET'
  | 'CANNOT_SAY'
  | 'MAY';

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

export const askInquiry: Ask<InquiryQuery, InquiryQueryVariables> = {"document":"sha256:fe977b78a2fe08fd61c117682bc6561145fb5882250ff0919ff03d7ee3a7aff7","operation":"Inquiry"}

export const askWriteDown: Ask<WriteDownMutation, WriteDownMutationVariables> = {"document":"sha256:fe977b78a2fe08fd61c117682bc6561145fb5882250ff0919ff03d7ee3a7aff7","operation":"WriteDown"}
