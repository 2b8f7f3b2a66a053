// Rows of a table, page by page, from one state of the record.
import { type ExecutionResult, type GraphQLSchema, graphql } from 'graphql'
import type { Context } from '../context.ts'
import type { Cell } from './csv.ts'
import type { Table } from './tables.ts'

/** Rows asked for at once. */
export const PAGE = 200

/** A table of one answer or matter. */
export interface Wanted {
  table: Table
  id: string
  schema: GraphQLSchema
  context: Context
}

export interface Page {
  edges: unknown[]
  totalCount: number
  asOf?: string
  after?: string
}

/** The first page; the problem where it cannot be had, or undefined where there is no such table. */
export async function firstPage(wanted: Wanted): Promise<Page | ExecutionResult | undefined> {
  const result = await askPage(wanted)
  return result.errors ? result : pageIn(result)
}

/** Every row from a first page on, a page of them at a time. Throws when a page is lost. */
export async function* rowsFrom(wanted: Wanted, page: Page): AsyncIterable<Cell[][]> {
  const { columns } = wanted.table
  for (let shown = page; ; ) {
    yield shown.edges.map((edge) => columns.map(([, , cell]) => cell(edge)))
    if (shown.after === undefined) return
    const next = pageIn(await askPage(wanted, shown.after))
    if (!next) throw new Error(`A page of ${wanted.table.connection} was lost.`)
    shown = next
  }
}

function askPage({ table, id, schema, context }: Wanted, after?: string) {
  const source = `query ($id: ID!, $first: Int!, $after: String) { node(id: $id) {
    ... on ${table.of} { ${table.of === 'Recall' ? '' : 'asOf'}
      page: ${table.connection}(first: $first, after: $after) {
        totalCount pageInfo { hasNextPage endCursor } edges { ${table.edge} } } } } }`
  const variableValues = { id, first: PAGE, after: after ?? null }
  return graphql({ schema, source, variableValues, contextValue: context })
}

function pageIn({ data }: ExecutionResult): Page | undefined {
  // biome-ignore lint/suspicious/noExplicitAny: the answer to the query above
  const node = data?.node as any
  if (!node?.page) return undefined
  const { edges, totalCount, pageInfo } = node.page
  return {
    edges,
    totalCount,
    ...(node.asOf && { asOf: node.asOf }),
    ...(pageInfo.hasNextPage && { after: pageInfo.endCursor }),
  }
}
