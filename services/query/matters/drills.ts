// Tracing drills: a pack or lot, back and forward, on the clock, with castings reconciled.
import { performance } from 'node:perf_hooks'
import type { GraphQLSchema } from 'graphql'
import type { JsonObject } from '../../events/statement.ts'
import { followThing, nothingFollowed, type View } from '../../metal/followed.ts'
import { originsOf } from '../../metal/origins.ts'
import { Reach } from '../../metal/reach.ts'
import { answerId } from '../answers/answer-id.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { matterIn, numberFrom, sayings } from './decisions.ts'
import { type Decision, decideOnce, decider, refused } from './publish.ts'
import { scopeOf } from './scope.ts'

export interface DrillInput {
  reportId: string
  of?: string | null
}

export function startDrill(
  context: Context,
  schema: GraphQLSchema,
  { reportId, of }: DrillInput,
): Promise<Decision> {
  return decideOnce(context, reportId, 'quality', async () => {
    const { view } = (await context.snapshot()).at()
    const picked = of ?? pickedBy(view, context.plant, reportId)
    if (picked === undefined) return refused('input.of', 'Nothing was packed yet: name a lot.')
    const scoped = await scopeOf(context, schema, { things: [{ of: picked }] }, true)
    if ('decision' in scoped) return scoped.decision
    const drill = numberFrom('D', reportId)
    const data: JsonObject = {
      drill,
      of: scoped.lines.map((line) => ({ ...line })),
      picked: of == null ? 'by chance among all packs' : 'named by the one who started it',
      by: decider(context),
    }
    return sayings('quality.drill-started.v1', `drill:${drill}`, {
      data: [data],
      sentence: `Drill ${drill} is started on ${picked}.`,
    })
  })
}

/** A pack by the digits of the number of the report, which the asker made by chance. */
function pickedBy(view: View, plant: string, reportId: string): string | undefined {
  const packs = new Set<number>()
  for (const { thing } of view.castings.nodes())
    if (thing > 0 && view.things.kind(thing) === 'pack' && view.things.plant(thing) === plant)
      packs.add(thing)
  const sorted = [...packs].sort((a, b) => a - b)
  if (sorted.length === 0) return undefined
  const digits = Number.parseInt(reportId.replaceAll('-', '').slice(0, 12), 16)
  return view.things.name(sorted[digits % sorted.length]!)
}

export interface EndDrillInput {
  reportId: string
  drill: string
}

/** Traces what the drill was started on, takes the times, and says how many castings are accounted for. */
export function endDrill(context: Context, { reportId, drill: id }: EndDrillInput) {
  return decideOnce(context, reportId, 'quality', async () => {
    const found = await matterIn(context, 'drill', id)
    if ('decision' in found) return found.decision
    const { matter } = found
    const began = performance.now()
    const { view, asOf } = (await context.snapshot()).at()
    const laps = [{ part: 'read the record', seconds: secondsSince(began) }]
    const things = [...matter.covers.keys()]
    const back = performance.now()
    const sources = things.flatMap((no) => sourcesOf(view, no))
    laps.push({ part: 'trace back', seconds: secondsSince(back) })
    const forward = performance.now()
    const { castings, accounted } = traced(view, sources)
    laps.push({ part: 'trace forward and reconcile', seconds: secondsSince(forward) })
    laps.push({ part: 'from start to end', seconds: (context.now() - matter.at) / 1000 })
    const names = things.map((no) => view.things.name(no))
    const affected = { touched: true }
    const from = { things: sources.map((no) => view.things.name(no)).slice(0, 200) }
    const answers = [
      ...names.map((name) => answerId({ question: 'origins', args: { of: { id: name } }, asOf })),
      answerId({ question: 'reach', args: { from, affected }, asOf }),
    ]
    return sayings('quality.drill-ended.v1', id, {
      data: [
        {
          drill: matter.number,
          by: decider(context),
          laps,
          castings,
          accounted,
          basedOn: answers,
        },
      ],
      sentence: `Drill ${matter.number} is ended: ${grouped(accounted)} of ${grouped(castings)} castings are accounted for.`,
    })
  })
}

/** Where a drill goes forward from: the pours that a pack may be from; a lot itself. */
function sourcesOf(view: View, no: number): number[] {
  const pours = originsOf(view, no)?.pours ?? []
  return pours.length > 0 ? pours.map(({ pour }) => pour) : [no]
}

/** Castings that came from the same, and those of them that stand at a place some report tells. */
function traced(view: View, things: readonly number[]) {
  const followed = nothingFollowed()
  for (const no of things) followThing(view, followed, no)
  let [castings, accounted] = [0, 0]
  for (const { node, standing } of new Reach(view, followed).scope({ touched: true }).nodes) {
    if (standing === 'clear') continue
    castings += node.castings
    if (node.place !== 'UNACCOUNTED') accounted += node.castings
  }
  return {
    castings: Math.round(castings),
    accounted: Math.min(Math.round(castings), Math.round(accounted)),
  }
}

function secondsSince(began: number): number {
  return Math.round(performance.now() - began) / 1000
}
