// Castings on their way: loads, totes.
import type { FactOf, Name, Step } from '../../events/fact.ts'
import type { Quantity } from '../../events/field.ts'
import type { Context } from '../context.ts'
import { enumWord, estimate, plantTime } from './amounts.ts'
import { measureOf } from './measures.ts'
import { reportObject } from './reports.ts'
import {
  machine,
  massSources,
  momentIn,
  named,
  namedBy,
  type PieceUse,
  pieceSources,
  type Said,
  saidOf,
  type Use,
} from './said.ts'
import type { Known, ThingKind } from './thing.ts'

/** The step that each type of report about a load tells of. */
const STEP_OF: Readonly<Record<string, Step>> = {
  'clean.castings-shaken-out': 'shake-out',
  'clean.load-tumbled': 'tumble',
  'clean.load-blasted': 'blast',
  'clean.load-ground': 'grind',
  'clean.load-washed': 'wash',
  'clean.load-dried': 'dry',
  'clean.load-sorted': 'sort',
  'season.load-oiled': 'oil',
  'season.load-baked': 'bake',
  'season.load-stripped': 'strip',
}

export const CASTING_THINGS = {
  load: {
    typename: 'Load',
    reportedBy: Object.keys(STEP_OF),
    at: (accounts) => (accounts[0]!.said as LoadHandled).startedAt,
    fields: loadFields,
  },
  tote: { typename: 'Tote', vessel: true, reportedBy: [] },
} as const satisfies Readonly<Record<string, ThingKind>>

interface LoadHandled {
  machine?: string
  line?: string
  tote?: string
  sources?: PieceUse[]
  product?: string
  castings: Quantity
  castingsIn?: Quantity
  pass?: number
  removed?: { castings: Quantity; fate: string; defect?: string; into?: Name }[]
  materials?: Use[]
  startedAt: number
  endedAt: number
}

function loadFields(known: Known) {
  return {
    handlings: async (_: unknown, context: Context) => {
      const said = await saidOf<LoadHandled>(context, known, ...Object.keys(STEP_OF))
      return said.map((one) => handling(context, known, one))
    },
  }
}

function handling(context: Context, known: Known, said: Said<LoadHandled>) {
  const { account, data } = said
  const report = reportObject(context, account.report)
  return {
    step: enumWord(STEP_OF[account.base]!),
    pass: data.pass ?? 1,
    machine: machineOf(data, account.base),
    startedAt: momentIn(said, data.startedAt),
    endedAt: momentIn(said, data.endedAt),
    castings: estimate(data.castings),
    castingsIn: estimate(data.castingsIn),
    product: named(data.product),
    sources: pieceSources(context, known, data.sources),
    removed: (data.removed ?? []).map(({ castings, fate, defect, into }) => ({
      castings: castings.value,
      fate,
      defect: defect ?? null,
      into: () => (into === undefined ? null : namedBy(context, known, into)),
    })),
    materials: massSources(context, known, data.materials),
    measures: account.facts
      .filter((fact): fact is FactOf<'measured'> => fact.what === 'measured')
      .map((fact) => measureOf(known, fact, { at: plantTime(fact.at, account.time), report })),
    tote: () => (data.tote === undefined ? null : namedBy(context, known, `tote:${data.tote}`)),
    report,
  }
}

function machineOf(data: LoadHandled, base: string) {
  return data.machine === undefined
    ? null
    : machine(data.machine, base.startsWith('season.') ? 'SEASON' : 'CLEAN')
}
