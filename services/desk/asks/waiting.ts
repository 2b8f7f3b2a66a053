// Made by npm run asks from waiting.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type NextQuestion =
  | 'ORIGINS'
  | 'REACH'
  | 'INQUIRY'
  | 'BATH'
  | 'RECONCILE'
  | 'RATES'
  | 'NODE'
  | 'COMPLAINTS'
  | 'CALLS'
  | 'SET_ASIDE'
  | 'MISFITS'
  | 'DRILLS';

export type WaitingSort =
  | 'HURT'
  | 'HOLD'
  | 'RECALL'
  | 'CALLS'
  | 'CALL_BACK'
  | 'SET_ASIDE'
  | 'MISFIT'
  | 'COMPLAINT'
  | 'DRILL';

export type WaitingQueryVariables = Exact<{
  after?: string | null | undefined;
}>;


export type WaitingQuery = { waiting: { totalCount: number, pageInfo: { hasNextPage: boolean, endCursor: string | null }, edges: Array<{ node: { sort: WaitingSort, sentence: string, since: string | null, due: string | null, source: string | null, overdue: boolean, settledBy: { sentence: string, question: NextQuestion, of: string | null } } }> } };

export const askWaiting: Ask<WaitingQuery, WaitingQueryVariables> = {"document":"sha256:62f17cb75e494ec2ac9aa8956ecbad5809686f1a193cedb92a25ea5d83bf065f","operation":"Waiting"}
