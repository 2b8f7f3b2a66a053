// Calls of open recalls that were given to whoever asks: all that a rep may know of a recall.
import type { View } from '../../metal/followed.ts'
import { CALL_WORDS } from '../answers/words-to-say.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { type Call, callsIn } from './calls.ts'
import { isOpen, type Matter, mattersOf } from './matter.ts'
import { decider } from './publish.ts'

export interface MyCall extends Call {
  recall: Matter
  givenAt: number
}

/** Those not told first, then by when they were given. */
export function myCallsIn(view: View, plant: string, me: string): MyCall[] {
  return mattersOf(view, plant, 'recall')
    .filter(isOpen)
    .flatMap((recall) =>
      callsIn(view, recall).flatMap((call) =>
        call.given?.to === me ? [{ ...call, recall, givenAt: call.given.at }] : [],
      ),
    )
    .sort((a, b) => rank(a) - rank(b) || a.givenAt - b.givenAt || b.castings - a.castings)
}

function rank({ toldAt }: Call): number {
  return toldAt === null ? 0 : 1
}

/** The connection `myCalls`. */
export async function myCalls(context: Context, args: PageArgs) {
  const { view } = (await context.snapshot()).at()
  return pageOfList(
    myCallsIn(view, context.plant, decider(context)),
    args,
    (call) => [rank(call), call.givenAt, call.recall.number, call.customer],
    (call) => ({
      node: {
        recall: `recall:${call.recall.number}`,
        customer: call.customer,
        marks: call.marks,
        castings: call.castings,
        say: call.recall.say === undefined ? CALL_WORDS : [call.recall.say],
        givenAt: call.givenAt,
        toldAt: call.toldAt,
        answered: call.answered,
      },
    }),
    { list: 'myCalls', of: decider(context) },
  )
}
