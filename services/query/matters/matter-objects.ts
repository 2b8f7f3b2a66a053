// Holds, recalls and drills as GraphQL objects.
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { reportsAbout } from '../things/reports.ts'
import { callsOf } from './calls.ts'
import { clocksOf } from './clocks.ts'
import { disposedOf, foundOf } from './found.ts'
import { castingsIn, isOpen, type Matter, type MatterKind, matterOf, mattersOf } from './matter.ts'

/** The GraphQL object of a matter by its id; null for what is none. */
export async function matterBy(context: Context, id: string): Promise<object | null> {
  const { view, asOf } = (await context.snapshot()).at()
  const no = view.things.numberOf(context.plant, id)
  const matter = no === undefined ? undefined : matterOf(view, no)
  return matter ? matterObject(context, view, asOf, matter) : null
}

/** Whether an id is of a matter's kind. */
export function namesMatter(id: string): boolean {
  return /^(hold|recall|drill):/.test(id)
}

interface MattersArgs extends PageArgs {
  state?: 'OPEN' | 'CLOSED' | null
}

/** The connections `holds`, `recalls` and `drills`, newest first. */
export async function matters(context: Context, kind: MatterKind, args: MattersArgs) {
  const { view, asOf } = (await context.snapshot()).at()
  const wanted = mattersOf(view, context.plant, kind).filter(
    (matter) => args.state == null || stateOf(matter) === args.state,
  )
  return pageOfList(
    wanted,
    args,
    ({ at, no }) => [at, no],
    (matter) => ({ node: matterObject(context, view, asOf, matter) }),
    { list: kind },
  )
}

function stateOf(matter: Matter): 'OPEN' | 'CLOSED' {
  return isOpen(matter) ? 'OPEN' : 'CLOSED'
}

function matterObject(context: Context, view: View, asOf: Ms, matter: Matter): object {
  const { kind, number, at, reason, by, say, due, basedOn } = matter
  const shared = {
    id: `${kind}:${number}`,
    number,
    state: stateOf(matter),
    at,
    by,
    partsMissing: matter.partsMissing,
    covers: (args: PageArgs) => covers(context, view, asOf, matter, args),
  }
  const decided = { ...shared, reason, say: say ?? null, due: due ?? null, basedOn }
  if (kind === 'hold') return { __typename: 'Hold', ...decided }
  if (kind === 'drill')
    return {
      ...{ __typename: 'Drill', ...shared, picked: reason },
      laps: matter.closed?.laps ?? [],
      castings: matter.closed?.castings ?? null,
      accounted: matter.closed?.accounted ?? null,
      answers: matter.closed?.basedOn ?? [],
    }
  return {
    ...{ __typename: 'Recall', ...decided },
    reports: (args: PageArgs) => reportsAbout(context, matter.no, args),
    closedAt: matter.closed?.at ?? null,
    closedBecause: matter.closed?.reason ?? null,
    found: () => foundOf(view, matter),
    calls: (args: PageArgs) => callsOf(view, matter, args),
    clocks: clocksOf(at),
    cautions: RECALL_CAUTIONS,
  }
}

const RECALL_CAUTIONS = [
  {
    code: 'recall-duties',
    sentence:
      'Whether to recall, whom to tell and by when is decided by the plant with counsel under the law of each market.',
  },
]

function covers(context: Context, view: View, asOf: Ms, matter: Matter, args: PageArgs) {
  const rows = [...matter.covers].map(([no, castings]) => ({ no, castings }))
  rows.sort((a, b) => a.no - b.no)
  const disposed = new Map(disposedOf(view, matter).map(({ of, castings }) => [of, castings]))
  return pageOfList(
    rows,
    args,
    ({ no }) => [no],
    async ({ no, castings }) => ({
      node: await context.things.one(no, asOf),
      castings: castings ?? null,
      released: matter.released.has(no)
        ? (matter.released.get(no) ?? castings ?? castingsIn(view, no))
        : 0,
      disposed: disposed.get(no) ?? 0,
    }),
    { list: 'covers', of: matter.no },
  )
}
