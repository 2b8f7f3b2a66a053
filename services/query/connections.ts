/** The arguments of every connection. */
export interface PageArgs {
  first: number
  after?: string | null
}

/** The GraphQL connection: `totalCount` is only worked out when asked. */
export interface Connection<Edge> {
  edges: (Edge & { cursor: string })[]
  pageInfo: {
    hasNextPage: boolean
    hasPreviousPage: boolean
    startCursor: string | null
    endCursor: string | null
  }
  totalCount: number | (() => number | Promise<number>)
}

/**
 * A page of a list already held in its order: edges are made for the rows shown only.
 * `key` tells a row from every other and its place in the order, so a cursor holds under inserts.
 */
export declare function pageOfList<Row, Edge extends { node: unknown }>(
  rows: readonly Row[],
  args: PageArgs,
  key: (row: Row) => readonly (number | string)[],
  edge: (row: Row) => Edge | Promise<Edge>,
): Promise<Connection<Edge>>
