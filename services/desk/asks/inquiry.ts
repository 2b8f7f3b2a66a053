// Made by npm run asks from inquiry.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
/** Are the reports behind an answer all there? */
export type CompletenessVerdict =
  /** Every report that could touch the answer is in. */
  | 'WHOLE'
  /** Reports are on their way, or a station is silent; nothing is known to be lost. */
  | 'WAITING'
  /** Something needed is set aside, contradicted, or named and never reported. */
  | 'GAPS';

/** What a rep may tell a caller about a mark, from the most careful to the least. */
export type Reassurance =
  /** A recall covers the mark. */
  | 'RECALLED'
  /** A hold touches the mark, or something whose reach touches it. */
  | 'NOT_YET'
  /** The trail of the mark has gaps: ask quality. */
  | 'CANNOT_SAY'
  /** No recall, no hold on it or on anything whose reach touches it, reports whole. */
  | 'MAY';

/** What a customer complains of. No name, address or number of a consumer: the record cannot be erased. */
export type ComplaintInput = {
  /** A new UUID made by the asker. */
  reportId: string;
  /** Mark as the caller reads it; ? for a sign that cannot be read. */
  mark?: string | null | undefined;
  /** Which product, where the caller knows. */
  product?: string | null | undefined;
  /** Name in the plant's defect book. */
  defect?: string | null | undefined;
  /** In their words. */
  words?: string | null | undefined;
  /** Someone was hurt or fell ill: tell quality at once. */
  hurt: boolean;
  /** When it came; now when left out. */
  receivedAt?: string | null | undefined;
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
