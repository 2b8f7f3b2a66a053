// From the sand to the pour: sand batches, runs of molds, pours.
import type { Cavity, FactOf } from '../../events/fact.ts'
import type { Quantity } from '../../events/field.ts'
import type { HeldFact } from '../../store/held-fact.ts'
import { readOf, readRuns } from '../../store/read-things.ts'
import type { Context } from '../context.ts'
import { estimate } from './amounts.ts'
import { superheat } from './chemistry.ts'
import { measures } from './measures.ts'
import { firstSaid, machine, massSources, named, namedBy, type Said, type Use } from './said.ts'
import type { Known, ThingKind } from './thing.ts'

export const MOLD_THINGS = {
  sand: { typename: 'Sand', reportedBy: ['mold.sand-mulled'], fields: sandFields },
  molds: { typename: 'Molds', reportedBy: ['mold.molds-made'], fields: moldsFields },
  pour: { typename: 'Pour', reportedBy: ['pour.molds-poured'], fields: pourFields },
} as const satisfies Readonly<Record<string, ThingKind>>

interface SandMulled {
  lines?: Use[]
  returnSandKg?: Quantity
}

function sandFields(known: Known) {
  const mulled = (context: Context) => firstSaid<SandMulled>(context, known, 'mold.sand-mulled')
  return {
    lines: async (_: unknown, context: Context) =>
      massSources(context, known, (await mulled(context))?.data.lines),
    returnSandKg: async (_: unknown, context: Context) =>
      estimate((await mulled(context))?.data.returnSandKg),
    measures: async (_: unknown, context: Context) => measures(context, known),
  }
}

interface MoldsMade {
  line: string
  series?: string
  pattern: string
  sand?: string
  first: number
  last: number
  squeezeKPa?: Quantity
  materials?: Use[]
}

function moldsFields(known: Known) {
  const made = (context: Context) => firstSaid<MoldsMade>(context, known, 'mold.molds-made')
  return {
    line: async (_: unknown, context: Context) => {
      const line = (await made(context))?.data.line
      return line === undefined ? null : machine(line, 'MOLD')
    },
    series: async (_: unknown, context: Context) => (await made(context))?.data.series ?? null,
    pattern: async (_: unknown, context: Context) => (await made(context))?.data.pattern ?? null,
    cavities: async (_: unknown, context: Context) => cavities(context, known, await made(context)),
    sand: async (_: unknown, context: Context) => {
      const sand = (await made(context))?.data.sand
      return sand === undefined ? null : namedBy(context, known, `sand:${sand}`)
    },
    firstMold: async (_: unknown, context: Context) => (await made(context))?.data.first ?? null,
    lastMold: async (_: unknown, context: Context) => (await made(context))?.data.last ?? null,
    squeezeKPa: async (_: unknown, context: Context) =>
      estimate((await made(context))?.data.squeezeKPa),
    materials: async (_: unknown, context: Context) =>
      massSources(context, known, (await made(context))?.data.materials),
  }
}

async function cavities(context: Context, known: Known, said: Said<MoldsMade> | undefined) {
  const line = said && (await context.things.numberOf(known.plant, `line:${said.data.line}`))
  if (line === undefined) return []
  const mounted = await readOf(context.store.pool, [line], 'pattern-mounted', known.asOf)
  const facts = mounted.map(({ fact }) => fact as FactOf<'pattern-mounted', number>)
  return (patternOf(said!.data, facts)?.cavities ?? []).map(cavity)
}

function cavity({ cavity, product, castingGrams, mark, blocked }: Cavity) {
  return {
    cavity,
    product: named(product),
    castingKg: estimate(castingGrams === undefined ? undefined : { value: castingGrams / 1000 }),
    mark: mark ?? null,
    blocked: blocked ?? false,
  }
}

/** The mounting a run was made with: of its series, the greatest fromMold up to its first, then the latest. */
export function patternOf(
  run: { pattern: string; series?: string; first: number },
  mounted: readonly FactOf<'pattern-mounted', number>[],
): FactOf<'pattern-mounted', number> | undefined {
  const fits = mounted.filter(
    ({ pattern, series, fromMold = 0 }) =>
      pattern === run.pattern && series === run.series && fromMold <= run.first,
  )
  return fits.sort((a, b) => (b.fromMold ?? 0) - (a.fromMold ?? 0) || b.at - a.at)[0]
}

interface MoldsPoured {
  ladle?: string
  furnace?: string
  line: string
  series?: string
  first: number
  last: number
  celsius?: Quantity
  additions?: Use[]
  kg?: Quantity
  kgPerMold?: Quantity
  startedAt: number
  endedAt: number
}

function pourFields(known: Known) {
  const poured = (context: Context) => firstSaid<MoldsPoured>(context, known, 'pour.molds-poured')
  return {
    ladle: async (_: unknown, context: Context) => {
      const ladle = (await poured(context))?.data.ladle
      return ladle === undefined ? null : namedBy(context, known, `ladle:${ladle}`)
    },
    furnace: async (_: unknown, context: Context) => {
      const furnace = (await poured(context))?.data.furnace
      return furnace === undefined ? null : namedBy(context, known, `furnace:${furnace}`)
    },
    line: async (_: unknown, context: Context) => {
      const line = (await poured(context))?.data.line
      return line === undefined ? null : machine(line, 'POUR')
    },
    firstMold: async (_: unknown, context: Context) => (await poured(context))?.data.first ?? null,
    lastMold: async (_: unknown, context: Context) => (await poured(context))?.data.last ?? null,
    molds: async (_: unknown, context: Context) => {
      const nos = await runsOf(context, known, (await poured(context))?.data)
      return context.things.many(nos, known.asOf)
    },
    castings: async (_: unknown, context: Context) => castingsOf(context, known),
    kg: async (_: unknown, context: Context) => estimate((await poured(context))?.data.kg),
    kgPerMold: async (_: unknown, context: Context) =>
      estimate((await poured(context))?.data.kgPerMold),
    minutes: async (_: unknown, context: Context) => {
      const data = (await poured(context))?.data
      return data ? (data.endedAt - data.startedAt) / 60_000 : null
    },
    celsius: async (_: unknown, context: Context) =>
      estimate((await poured(context))?.data.celsius),
    superheat: async (_: unknown, context: Context) => superheat(context, known),
    measures: async (_: unknown, context: Context) => measures(context, known),
    additions: async (_: unknown, context: Context) =>
      massSources(context, known, (await poured(context))?.data.additions),
  }
}

/** Molds are poured within days of being made, or not at all. Unit: ms. */
const STANDS = 7 * 86_400_000
/** A run may still be going on when its first molds are poured. Unit: ms. */
const RUNS_ON = 86_400_000

async function runsOf(context: Context, known: Known, pour: MoldsPoured | undefined) {
  const line = pour && (await context.things.numberOf(known.plant, `line:${pour.line}`))
  if (line === undefined) return []
  const { first, last, startedAt, endedAt } = pour!
  const asked = { first, last, from: startedAt - STANDS, to: endedAt + RUNS_ON }
  const runs = await readRuns(context.store.pool, line, asked, known.asOf)
  return runsPoured(pour!, runs.map(runOf))
}

type Run = FactOf<'molds-made', number>

function runOf({ fact }: HeldFact): Run {
  return fact as Run
}

/** For each mold the latest run begun before the pour ended that bears its number; each run once. */
export function runsPoured(
  pour: { first: number; last: number; endedAt: number; series?: string },
  runs: readonly Run[],
): number[] {
  const fits = runs
    .filter(
      ({ from, series }) =>
        from <= pour.endedAt && (pour.series === undefined || series === pour.series),
    )
    .sort((a, b) => b.from - a.from)
  const found = new Set<number>()
  let mold = pour.first
  while (mold <= pour.last) {
    const run = fits.find(({ first, last }) => first <= mold && mold <= last)
    if (run) found.add(run.of)
    // Another run may take over at the end of this one, or where a later one begins.
    const begins = fits.map(({ first }) => first).filter((first) => first > mold)
    mold = Math.min(run ? run.last + 1 : Number.POSITIVE_INFINITY, ...begins)
  }
  return [...found]
}

/** Worked out with the castings of the whole record, so that it is the count answers use. */
async function castingsOf(context: Context, { no, asOf }: Known) {
  if (no === undefined) return null
  const snapshot = await context.snapshot()
  const { view } = snapshot.at(asOf)
  const units = view.castings.unitsOf(no)
  if (units.length === 0) return null
  const value = units.reduce((sum, { castings }) => sum + castings, 0)
  return { value, basis: 'COMPUTED', interval: null }
}
