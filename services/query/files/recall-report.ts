// How a recall went, for the file that is kept of it: what it rests on, what it covers, whom it reached,
// what became of it, and what happened when. Asked like any question, so it has its numbers and its roles.
import { createHash } from 'node:crypto'
import { type ExecutionResult, type GraphQLSchema, graphql } from 'graphql'
import { PROJECTION_VERSION } from '../../events/projection-version.ts'
import type { Context } from '../context.ts'
import { type Cell, csvRow } from './csv.ts'
import { firstPage, rowsFrom } from './pages.ts'
import { TABLES } from './tables.ts'

/** What a report takes of a budget, however large the recall. Unit: values. */
export const REPORT_VALUES = 20_000
/** Answers a recall rests on that are worked out again for it: each is as much work as the first time. */
const MOST_ANSWERS = 20
/** Events told; of more, the newest. */
const MOST_EVENTS = 2000
const EVENTS_A_PAGE = 200

const RECALL = `query ($id: ID!) { node(id: $id) { ... on Recall {
  id number state at reason by say due basedOn partsMissing closedAt closedBecause
  found { castings shipped notKnown effectiveness parts { became castings } }
  clocks { duty due source }
  cautions { sentence }
} } reportsIn { verdict sentence asOf } }`

const ANSWERS = `query ($ids: [ID!]!) { nodes(ids: $ids) { ... on Reach {
  id question sentence asOf castings { certain possible unknown clear toHold }
  completeness { verdict sentence }
  since { until sentence joined left }
  cautions { sentence }
} } }`

const EVENTS = `query ($id: ID!, $first: Int!, $after: String) { node(id: $id) { ... on Recall {
  reports(first: $first, after: $after) { totalCount pageInfo { hasNextPage endCursor }
    edges { node { id type number happenedAt recordedAt sentence inForce } } } } } }`

// biome-ignore lint/suspicious/noExplicitAny: an answer to the queries above
type Answer = any

export interface RecallReport {
  madeAt: string
  /** By which version of the event types the record was made. */
  recordVersion: string
  recall: Answer
  reportsIn: Answer
  /** Answers it rests on, with what has changed since each; null for one that cannot be given again. */
  answers: Answer[]
  answersLeftOut: number
  customers: ReportTable
  covers: ReportTable
  /** Newest first. */
  events: Answer[]
  eventsInAll: number
}

/** All rows of a table, with the file they are in. */
export interface ReportTable {
  file: string
  /** Of that file as it is now. */
  sha256: string
  columns: string[]
  rows: Cell[][]
}

interface Asking {
  schema: GraphQLSchema
  context: Context
  id: string
}

/** Undefined where there is no such recall; the errors where the reader may not see it. */
export async function recallReport(
  asking: Asking,
): Promise<RecallReport | Required<Pick<ExecutionResult, 'errors'>> | undefined> {
  const { context, id } = asking
  const asked = await ask(asking, RECALL, { id })
  if (asked.errors) return { errors: asked.errors }
  const { node: recall, reportsIn } = asked.data as Answer
  if (!recall?.number) return undefined
  const ids = recall.basedOn.slice(0, MOST_ANSWERS)
  const { nodes } = await data(asking, ANSWERS, { ids })
  const events = await eventsOf(asking)
  return {
    madeAt: new Date(context.now()).toISOString(),
    recordVersion: PROJECTION_VERSION,
    recall,
    reportsIn,
    answers: nodes,
    answersLeftOut: recall.basedOn.length - ids.length,
    customers: await tableOf(asking, 'calls'),
    covers: await tableOf(asking, 'covers'),
    ...events,
  }
}

async function eventsOf(asking: Asking) {
  const events: Answer[] = []
  for (let after: string | null = null; ; ) {
    const variables: object = { id: asking.id, first: EVENTS_A_PAGE, after }
    const { reports }: Answer = (await data(asking, EVENTS, variables)).node
    for (const { node } of reports.edges) events.push(node)
    after = reports.pageInfo.endCursor
    if (!reports.pageInfo.hasNextPage || events.length >= MOST_EVENTS)
      return { events, eventsInAll: reports.totalCount as number }
  }
}

/** The rows of the file of a table, and the hash that the file has. */
async function tableOf(asking: Asking, name: string): Promise<ReportTable> {
  const table = TABLES[name]!
  const columns = table.columns.map(([column]) => column)
  const hash = createHash('sha256').update(csvRow(columns))
  const rows: ReportTable['rows'] = []
  const page = await firstPage({ ...asking, table })
  if (!page || !('edges' in page)) throw page?.errors?.[0] ?? new Error(`No table of ${name}.`)
  for await (const some of rowsFrom({ ...asking, table }, page))
    for (const row of some) {
      hash.update(csvRow(row))
      rows.push(row)
    }
  const file = `/files/${encodeURIComponent(asking.id)}/${name}.csv`
  return { file, sha256: hash.digest('hex'), columns, rows }
}

async function data(asking: Asking, source: string, variables: object): Promise<Answer> {
  const { data, errors } = await ask(asking, source, variables)
  if (errors) throw errors[0]
  return data
}

function ask({ schema, context }: Asking, source: string, variables: object) {
  const variableValues = { ...variables }
  return graphql({ schema, source, variableValues, contextValue: context })
}
