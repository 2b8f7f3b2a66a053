// The schema with what answers each question. Fields that stand in an object answer for themselves.
import { makeExecutableSchema } from '@graphql-tools/schema'
import type { GraphQLResolveInfo, GraphQLSchema } from 'graphql'
import { answerAgain } from './answers/again.ts'
import { askedIn } from './answers/answer-id.ts'
import { type BathArgs, bath } from './answers/bath.ts'
import { type CapabilityArgs, capability } from './answers/capability.ts'
import { type CausesArgs, causes } from './answers/causes.ts'
import { type ChartArgs, chart } from './answers/chart.ts'
import { type ComplaintRatesArgs, complaintRates } from './answers/complaint-rates.ts'
import { type ConcentrationArgs, concentration } from './answers/concentration.ts'
import { type InquiryArgs, inquiry } from './answers/inquiry.ts'
import { type OriginsArgs, origins } from './answers/origins.ts'
import { type RateChartArgs, rateChart } from './answers/rate-chart.ts'
import { defectRates, type RatesArgs } from './answers/rates.ts'
import { type ReachArgs, reach } from './answers/reach.ts'
import { type ReconcileArgs, reconcile } from './answers/reconcile.ts'
import { reportsIn } from './answers/reports-in.ts'
import type { PageArgs } from './connections.ts'
import type { Context } from './context.ts'
import { dateTime } from './date-time.ts'
import { inHand } from './hand/in-hand.ts'
import { complaints } from './matters/complaints.ts'
import { matterBy, matters, namesMatter } from './matters/matter-objects.ts'
import { MUTATION_RESOLVERS } from './matters/mutations.ts'
import { myCalls } from './matters/my-calls.ts'
import { waiting } from './matters/waiting.ts'
import { refusal } from './refusal.ts'
import { SDL } from './sdl.ts'
import { heldToRoles } from './seen-by.ts'
import { misfits } from './things/fit.ts'
import { inspectionBy, inspections } from './things/inspections.ts'
import { LIST_RESOLVERS } from './things/lists.ts'
import { outOfLimits } from './things/measures.ts'
import { find } from './things/name.ts'
import { placeInId, setAside } from './things/reports.ts'
import type { ThingBy } from './things/thing.ts'

/** Asked for at once by `nodes`. */
const MOST_NODES = 100

/** Throws when a field does not say who may see it, or a question has nothing that answers it. */
export function makeSchema(): GraphQLSchema {
  const schema = makeExecutableSchema<Context>({
    typeDefs: SDL,
    resolvers: {
      DateTime: dateTime,
      Query: {
        ...LIST_RESOLVERS,
        inspections: (_, args, context) => inspections(context, args),
        misfits: (_, args, context) => misfits(context, args),
        outOfLimits: (_, args, context) => outOfLimits(context, args),
        origins: (_, args: OriginsArgs, context) => origins(context, args),
        reach: (_, args: ReachArgs, context) => reach(context, args),
        chart: (_, args: ChartArgs, context) => chart(context, args),
        rateChart: (_, args: RateChartArgs, context) => rateChart(context, args),
        capability: (_, args: CapabilityArgs, context) => capability(context, args),
        defectRates: (_, args: RatesArgs, context) => defectRates(context, args),
        complaintRates: (_, args: ComplaintRatesArgs, context) => complaintRates(context, args),
        reconcile: (_, args: ReconcileArgs, context) => reconcile(context, args),
        concentration: (_, args: ConcentrationArgs, context) => concentration(context, args),
        causes: (_, args: CausesArgs, context) => causes(context, args),
        bath: (_, args: BathArgs, context) => bath(context, { ...args, of: args.of ?? [] }),
        inquiry: (_, args: InquiryArgs, context) => inquiry(context, args),
        holds: (_, args, context) => matters(context, 'hold', args),
        recalls: (_, args, context) => matters(context, 'recall', args),
        drills: (_, args, context) => matters(context, 'drill', args),
        complaints: (_, args, context) => complaints(context, args),
        inHand: (_, args: { text: string }, context) => inHand(context, args),
        waiting: (_, args: PageArgs, context) => waiting(context, args),
        myCalls: (_, args: PageArgs, context) => myCalls(context, args),
        reportsIn: (_, _args, context) => reportsIn(context),
        setAside: (_, args: PageArgs & { station?: string }, context) => setAside(context, args),
        answer: (_, { id }: { id: string }, context, info) => answerAgain(context, info.schema, id),
        node: (_, { id }: { id: string }, context, info) => node(context, id, info),
        nodes: (_, { ids }: { ids: string[] }, context, info) => {
          if (ids.length > MOST_NODES)
            throw refusal('TOO_MUCH', `ids may be ${MOST_NODES} at most, and are ${ids.length}.`)
          return ids.map((id) => node(context, id, info))
        },
        thing: (_, args: { by: ThingBy; asOf?: number | null }, context) =>
          thing(context, args.by, args.asOf ?? undefined),
      },
      Mutation: MUTATION_RESOLVERS,
    },
  })
  return heldToRoles(schema)
}

async function node(
  context: Context,
  id: string,
  info: GraphQLResolveInfo,
): Promise<object | null> {
  const place = placeInId(id)
  if (place) return context.reports.at(context, place)
  if (id.startsWith('inspection:')) return inspectionBy(context, id.slice('inspection:'.length))
  if (namesMatter(id)) return matterBy(context, id)
  if (askedIn(id)) return answerAgain(context, info.schema, id)
  return thing(context, { id })
}

async function thing(context: Context, by: ThingBy, asOf?: number): Promise<object | null> {
  const found = await find(context, by, asOf)
  return found.found === 'one' ? context.things.one(found.no, asOf) : null
}
