// Made by npm run asks from in-hand.graphql.
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

export type ThingsInHandQueryVariables = Exact<{
  text: string;
}>;


export type ThingsInHandQuery = { inHand: { sentence: string, tried: Array<string>, things: Array<{ offset: number, length: number, written: string, id: string | null, label: string, candidates: Array<{ id: string, label: string, because: string, fit: number, asks: Array<{ sentence: string, question: NextQuestion, of: string | null }> }>, asks: Array<{ sentence: string, question: NextQuestion, of: string | null }> }> } };

export type MarksInHandQueryVariables = Exact<{
  text: string;
}>;


export type MarksInHandQuery = { inHand: { sentence: string, tried: Array<string>, marks: Array<{ offset: number, length: number, written: string, mark: string | null, candidates: Array<{ mark: string, because: string, fit: number }>, asks: Array<{ sentence: string, question: NextQuestion, of: string | null }> }> } };

export type NewestQueryVariables = Exact<{ [key: string]: never; }>;


export type NewestQuery = { packs: { edges: Array<{ node: { id: string, marks: Array<string> } }> }, heats: { edges: Array<{ node: { id: string } }> }, lots: { edges: Array<{ node: { id: string, material: string | null } }> } };

export const askThingsInHand: Ask<ThingsInHandQuery, ThingsInHandQueryVariables> = {"document":"sha256:7b1ca5af458451c5ac557a8090bc334d0cb4fba91cb25c1290cd72f4d802ae3a","operation":"ThingsInHand"}

export const askMarksInHand: Ask<MarksInHandQuery, MarksInHandQueryVariables> = {"document":"sha256:7b1ca5af458451c5ac557a8090bc334d0cb4fba91cb25c1290cd72f4d802ae3a","operation":"MarksInHand"}

export const askNewest: Ask<NewestQuery, NewestQueryVariables> = {"document":"sha256:7b1ca5af458451c5ac557a8090bc334d0cb4fba91cb25c1290cd72f4d802ae3a","operation":"Newest"}
