// Answers /files: GET /files/<id of an answer or recall>/<table>.csv streams a table of it; .parquet has the
// same in columns.
import type { ServerResponse } from 'node:http'
import { type ExecutionResult, type GraphQLSchema, graphql } from 'graphql'
import type { Deed } from '../../access/audit.ts'
import type { Budget } from '../../access/budget.ts'
import type { WhoSends } from '../../access/sign-in.ts'
import type { Who } from '../../access/who.ts'
import { PROJECTION_VERSION } from '../../events/projection-version.ts'
import type { Context } from '../context.ts'
import { addressOf, type Listener, sendProblem } from '../server/http.ts'
import { orTurnAway } from '../server/session.ts'
import { type Cell, csvRow } from './csv.ts'
import { parquetFile } from './parquet.ts'
import { TABLE_EDITION, TABLES, type Table } from './tables.ts'

export interface FileParts {
  schema: GraphQLSchema
  whoSends: WhoSends
  context(who: Who): Context
  /** What each subject may ask for; a file takes of it what its first page does. */
  budget?: Budget
  /** Told who took which file, and how many rows. */
  noted?(deed: Deed): void
}

const PATH = /^\/files\/([^/]+)\/([a-z]+)\.(csv|parquet)$/
const PAGE = 200
/** Being written at once; beyond, others have to wait. */
const MOST_FILES = 8

export function fileListener(parts: FileParts): Listener {
  let inHand = 0
  return async (request, response) => {
    const { path } = addressOf(request)
    if (!path.startsWith('/files/')) return false
    await orTurnAway(response, async () => {
      const who = await parts.whoSends(request)
      const [, id, name, form] = PATH.exec(path) ?? []
      const table = name !== undefined && Object.hasOwn(TABLES, name) ? TABLES[name] : undefined
      if (request.method !== 'GET')
        return sendProblem(response, 405, 'BAD_REQUEST', 'This takes GET.', { allow: 'GET' })
      if (!table || !id)
        return sendProblem(response, 404, 'NOT_FOUND', `Tables are ${Object.keys(TABLES)}.`)
      const seconds =
        inHand < MOST_FILES ? (parts.budget?.(who.subject, PAGE * table.columns.length) ?? 0) : 1
      if (seconds > 0)
        return sendProblem(response, 429, 'TOO_OFTEN', 'Too much is asked: come again soon.', {
          'retry-after': String(seconds),
        })
      inHand++
      const wanted: Wanted = {
        ...{ name: name!, form: form as Form, table },
        ...{ id: decoded(id), who, parts },
      }
      try {
        note(wanted, response, await sendTable(response, wanted))
      } finally {
        inHand--
      }
    })
    return true
  }
}

/** What cannot be decoded is the id of nothing. */
function decoded(id: string): string {
  try {
    return decodeURIComponent(id)
  } catch {
    return ''
  }
}

function note(
  { name, form, who, parts }: Wanted,
  { statusCode }: ServerResponse,
  rows: number,
): void {
  parts.noted?.({
    ...{ subject: who.subject, roles: who.roles, what: `file ${name}.${form}`, rows, seconds: 0 },
    decision: statusCode < 400 ? 'answered' : `refused: ${statusCode}`,
  })
}

type Form = 'csv' | 'parquet'

interface Wanted {
  name: string
  form: Form
  table: Table
  id: string
  who: Who
  parts: FileParts
}

/** Answers how many rows went out. */
async function sendTable(response: ServerResponse, wanted: Wanted): Promise<number> {
  const { name, parts, who } = wanted
  // One context: every page comes from the same state of the record.
  const context = parts.context(who)
  const first = await askPage(wanted, context)
  const [problem] = first.errors ?? []
  // Only what is meant for callers goes out in its own words.
  if (problem && problem.extensions.code !== 'FORBIDDEN') throw problem
  if (problem) {
    sendProblem(response, 403, 'FORBIDDEN', problem.message)
    return 0
  }
  const page = pageIn(first)
  if (!page) {
    sendProblem(
      response,
      404,
      'NOT_FOUND',
      `There is no such answer, or it has no table of ${name}.`,
    )
    return 0
  }
  const rows = rowsOf(wanted, context, page)
  const asOf = page.asOf ?? new Date(context.now()).toISOString()
  const send = wanted.form === 'csv' ? sendCsv : sendParquet
  await send(response, wanted, { rows, asOf, totalCount: page.totalCount })
  return page.totalCount
}

interface Found {
  rows: AsyncIterable<Cell[]>
  asOf: string
  totalCount: number
}

async function sendCsv(response: ServerResponse, wanted: Wanted, found: Found): Promise<void> {
  const { name, table } = wanted
  response.writeHead(200, {
    'content-type': 'text/csv; charset=utf-8; header=present',
    ...headersOf(`${name}.csv`, found),
  })
  response.write(csvRow(table.columns.map(([column]) => column)))
  for await (const row of found.rows) response.write(csvRow(row))
  response.end()
}

/** Columns are written whole: nothing goes out before the last row is known. */
async function sendParquet(response: ServerResponse, wanted: Wanted, found: Found): Promise<void> {
  const { name, table } = wanted
  const rows: Cell[][] = []
  for await (const row of found.rows) rows.push(row)
  const bytes = parquetFile(table, rows, {
    as_of: found.asOf,
    rows: String(rows.length),
    record_version: PROJECTION_VERSION,
    table_edition: String(TABLE_EDITION),
  })
  response.writeHead(200, {
    'content-type': 'application/vnd.apache.parquet',
    'content-length': String(bytes.byteLength),
    ...headersOf(`${name}.parquet`, found),
  })
  response.end(bytes)
}

function headersOf(file: string, { asOf, totalCount }: Found) {
  return {
    'content-disposition': `attachment; filename="${file}"`,
    'x-rows': totalCount,
    'x-as-of': asOf,
    'x-record-version': PROJECTION_VERSION,
    'x-table-edition': TABLE_EDITION,
  }
}

async function* rowsOf(wanted: Wanted, context: Context, first: Page): AsyncIterable<Cell[]> {
  const { columns } = wanted.table
  for (let shown: Page | undefined = first; shown; ) {
    for (const edge of shown.edges) yield columns.map(([, , cell]) => cell(edge))
    shown = shown.after === undefined ? undefined : await nextPage(wanted, context, shown.after)
  }
}

interface Page {
  edges: unknown[]
  totalCount: number
  asOf?: string
  after?: string
}

async function nextPage(wanted: Wanted, context: Context, after: string): Promise<Page> {
  const page = pageIn(await askPage(wanted, context, after))
  if (!page) throw new Error(`A page of ${wanted.name} was lost.`)
  return page
}

function askPage({ table, id, parts }: Wanted, context: Context, after?: string) {
  const source = `query ($id: ID!, $first: Int!, $after: String) { node(id: $id) {
    ... on ${table.of} { ${table.of === 'Recall' ? '' : 'asOf'}
      page: ${table.connection}(first: $first, after: $after) {
        totalCount pageInfo { hasNextPage endCursor } edges { ${table.edge} } } } } }`
  const variableValues = { id, first: PAGE, after: after ?? null }
  return graphql({ schema: parts.schema, source, variableValues, contextValue: context })
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
