// What answers each mutation.
import type { GraphQLResolveInfo } from 'graphql'
import type { Context } from '../context.ts'
import { giveCalls, recordAnswer, recordTold } from './answers-of-customers.ts'
import { recordCalledBack, recordComplaint } from './complaints.ts'
import { closeRecall, openRecall, placeHold, recordDisposition, releaseHold } from './decisions.ts'
import { endDrill, startDrill } from './drills.ts'
import { replaySetAside } from './replays.ts'

interface Given<Input> {
  input: Input
}

/** A resolver of what is decided on things, which may rest on an answer. */
function resolving<Input>(
  decide: (context: Context, schema: GraphQLResolveInfo['schema'], input: Input) => Promise<object>,
) {
  return (_: unknown, { input }: Given<Input>, context: Context, info: GraphQLResolveInfo) =>
    decide(context, info.schema, input)
}

function taking<Input>(decide: (context: Context, input: Input) => Promise<object>) {
  return (_: unknown, { input }: Given<Input>, context: Context) => decide(context, input)
}

export const MUTATION_RESOLVERS = {
  placeHold: resolving(placeHold),
  releaseHold: resolving(releaseHold),
  openRecall: resolving(openRecall),
  closeRecall: taking(closeRecall),
  recordDisposition: resolving(recordDisposition),
  giveCalls: taking(giveCalls),
  recordTold: taking(recordTold),
  recordAnswer: taking(recordAnswer),
  recordComplaint: taking(recordComplaint),
  recordCalledBack: taking(recordCalledBack),
  startDrill: resolving(startDrill),
  endDrill: taking(endDrill),
  replaySetAside: taking(replaySetAside),
}
