// Made by npm run asks from looks.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type LooksQueryVariables = Exact<{ [key: string]: never; }>;


export type LooksQuery = { inspections: { edges: Array<{ node: { stage: string, at: string, castings: number, product: { name: string } | null, defects: Array<{ defect: string, castings: number }> } }> } };

export const askLooks: Ask<LooksQuery, LooksQueryVariables> = {"document":"sha256:4492c51b2210200110a726d7e5cd3f8d331b904249105c06b662e1875b6e1869","operation":"Looks"}
