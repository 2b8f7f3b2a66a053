// Answers /files: GET /files/<id of an answer or recall>/<table>.csv streams a table of it; .parquet has the
// same in columns. /files/<id of a recall>/report.html or report.json tells how the recall went.
import { once } from 'node:events'
import type { ServerResponse } from 'node:http'
import type { GraphQLSchema } from 'graphql'
import type { Deed } from '../../access/audit.ts'
import type { Budget } from '../../access/budget.ts'
import type { WhoSends } from '../../access/sign-in.ts'
import type { Who } from '../../access/who.ts'
import { PROJECTION_VERSION } from '../../events/projection-version.ts'
import type { Context } from '../context.ts'
import { addressOf, type Listener, sendProblem } from '../server/http.ts'
import { orTurnAway } from '../server/session.ts'
import { type Cell, csvRow } from './csv.ts'
import { firstPage, PAGE, type Wanted as Paged, rowsFrom } from './pages.ts'
import { parquetFile } from './parquet.ts'
import { REPORT_VALUES, recallReport } from './recall-report.ts'
import { REPORT_POLICY, reportPage } from './report-page.ts'
import { TABLE_EDITION, TABLES, type Table } from './tables.ts'

export interface FileParts {
  schema: GraphQLSchema
  whoSends: WhoSends
  context(who: Who): Context
  /** What each subject may ask for; a file takes of it what all its rows do. */
  budget?: Budget
  /** Rows that a file may have; absent: a million. */
  mostRows?: number
  /** Told who took which file, and how many rows. */
  noted?(deed: Deed): void
}

const PATH = /^\/files\/([^/]+)\/([a-z]+)\.(csv|parquet|html|json)$/
/** Being written at once; beyond, others have to wait. */
const MOST_FILES = 8
const MOST_ROWS = 1_000_000

export function fileListener(parts: FileParts): Listener {
  let inHand = 0
  return async (request, response) => {
    const { path } = addressOf(request)
    if (!path.startsWith('/files/')) return false
    await orTurnAway(response, async () => {
      const who = await parts.whoSends(request)
      const [, id, name = '', form] = PATH.exec(path) ?? []
      const isTable = form === 'csv' || form === 'parquet'
      const table = isTable && Object.hasOwn(TABLES, name) ? TABLES[name] : undefined
      const isReport = name === 'report' && !isTable
      if (request.method !== 'GET')
        return sendProblem(response, 405, 'BAD_REQUEST', 'This takes GET.', { allow: 'GET' })
      if (!id || !(table || isReport))
        return sendProblem(response, 404, 'NOT_FOUND', `Tables are ${Object.keys(TABLES)}.`)
      const values = table ? PAGE * table.columns.length : REPORT_VALUES
      const seconds = inHand < MOST_FILES ? (parts.budget?.(who.subject, values) ?? 0) : 1
      if (seconds > 0) return tooOften(response, seconds)
      inHand++
      const wanted = { name, form: form!, id: decoded(id), who, parts }
      try {
        const rows = table
          ? await sendTable(response, { ...wanted, table })
          : await sendReport(response, wanted)
        note(wanted, response, rows)
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

function tooOften(response: ServerResponse, seconds: number): void {
  sendProblem(response, 429, 'TOO_OFTEN', 'Too much is asked: come again soon.', {
    'retry-after': String(seconds),
  })
}

interface Wanted {
  name: string
  form: string
  id: string
  who: Who
  parts: FileParts
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

/** Answers how many rows went out. */
async function sendTable(
  response: ServerResponse,
  { name, form, table, id, parts, who }: Wanted & { table: Table },
): Promise<number> {
  // One context: every page comes from the same state of the record.
  const context = parts.context(who)
  const paged: Paged = { table, id, schema: parts.schema, context }
  const page = await firstPage(paged)
  if (page === undefined)
    return none(response, `There is no such answer, or it has no table of ${name}.`)
  if (!('edges' in page)) return closed(response, page)
  const { totalCount } = page
  const mostRows = parts.mostRows ?? MOST_ROWS
  if (totalCount > mostRows) {
    const sentence = `A file may have ${mostRows} rows, and this one has ${totalCount}: ask for less.`
    sendProblem(response, 413, 'TOO_MUCH', sentence)
    return 0
  }
  const rest = Math.max(0, totalCount - PAGE) * table.columns.length
  const seconds = rest === 0 ? 0 : (parts.budget?.(who.subject, rest) ?? 0)
  if (seconds > 0) {
    tooOften(response, seconds)
    return 0
  }
  const found: Found = {
    rows: rowsFrom(paged, page),
    asOf: page.asOf ?? new Date(context.now()).toISOString(),
    totalCount,
  }
  await (form === 'csv' ? sendCsv : sendParquet)(response, { name, table }, found)
  return totalCount
}

interface Found {
  rows: AsyncIterable<Cell[][]>
  asOf: string
  totalCount: number
}

type Named = Pick<Wanted, 'name'> & { table: Table }

async function sendCsv(response: ServerResponse, { name, table }: Named, found: Found) {
  response.writeHead(200, {
    'content-type': 'text/csv; charset=utf-8; header=present',
    ...headersOf(`${name}.csv`, found),
  })
  response.write(csvRow(table.columns.map(([column]) => column)))
  for await (const rows of found.rows) {
    // Who reads slowly is waited for, and nothing is worked out for who has gone.
    if (!response.write(rows.map(csvRow).join('')) && !response.destroyed)
      await Promise.race([once(response, 'drain'), once(response, 'close')])
    if (response.destroyed) return
  }
  response.end()
}

/** Columns are written whole: nothing goes out before the last row is known. */
async function sendParquet(response: ServerResponse, { name, table }: Named, found: Found) {
  const rows: Cell[][] = []
  for await (const some of found.rows) rows.push(...some)
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

async function sendReport(
  response: ServerResponse,
  { id, form, who, parts }: Wanted,
): Promise<number> {
  const found = await recallReport({ schema: parts.schema, context: parts.context(who), id })
  if (found === undefined) return none(response, 'There is no such recall: reports are of recalls.')
  if ('errors' in found) return closed(response, found)
  const isPage = form === 'html'
  const body = isPage ? reportPage(found) : `${JSON.stringify(found, undefined, 2)}\n`
  response.writeHead(200, {
    'content-type': `${isPage ? 'text/html' : 'application/json'}; charset=utf-8`,
    'x-record-version': PROJECTION_VERSION,
    ...(isPage && { 'content-security-policy': REPORT_POLICY }),
  })
  response.end(body)
  return 1
}

function none(response: ServerResponse, sentence: string): number {
  sendProblem(response, 404, 'NOT_FOUND', sentence)
  return 0
}

/** Only what is meant for callers goes out in its own words. */
function closed(response: ServerResponse, { errors }: { errors?: readonly Problem[] }): number {
  const [problem] = errors ?? []
  if (problem?.extensions.code !== 'FORBIDDEN') throw problem
  sendProblem(response, 403, 'FORBIDDEN', problem.message)
  return 0
}

type Problem = Error & { extensions: { code?: unknown } }
