// Who calls which customer of a recall, what customers were told, and what they answered.
import { hasOneOf } from '../../access/who.ts'
import type { JsonObject } from '../../events/statement.ts'
import type { View } from '../../metal/followed.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { callsIn } from './calls.ts'
import { matterIn, sayings } from './decisions.ts'
import type { Matter } from './matter.ts'
import { type Decision, decideOnce, decider, personOf, refused } from './publish.ts'

export interface GiveCallsInput {
  reportId: string
  recall: string
  customers: string[]
  to: string
}

const MOST_GIVEN = 200

export function giveCalls(context: Context, input: GiveCallsInput): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const found = await matterIn(context, 'recall', input.recall)
    if ('decision' in found) return found.decision
    const customers = [...new Set(input.customers)]
    if (customers.length === 0 || customers.length > MOST_GIVEN)
      return refused('input.customers', `Name 1 to ${MOST_GIVEN} customers.`)
    const known = new Set(callsIn(found.view, found.matter).map(({ customer }) => customer))
    const stranger = customers.find((customer) => !known.has(customer))
    if (stranger !== undefined)
      return refused('input.customers', `${stranger} got nothing of ${input.recall}.`)
    const to = personOf(input.to)
    if (to === '') return refused('input.to', "Give the subject of the rep's token.")
    const recall = found.matter.number
    const data = customers.map((customer): JsonObject => {
      return { recall, customer, to, by: decider(context) }
    })
    const calls = customers.length === 1 ? '1 call' : `${grouped(customers.length)} calls`
    return sayings('quality.call-given.v1', `recall:${recall}`, {
      data,
      sentence: `${calls} of recall ${recall} ${customers.length === 1 ? 'is' : 'are'} given to ${to}.`,
    })
  })
}

/** An open recall; to a rep, only one of which the call to this customer is theirs. */
async function recallFor(context: Context, { recall, customer }: ToldInput | AnswerInput) {
  const found = await matterIn(context, 'recall', recall)
  if (hasOneOf(context.who, ['quality'])) return found
  const isMine = ({ view, matter }: { view: View; matter: Matter }) =>
    callsIn(view, matter).some(
      (call) => call.customer === customer && call.given?.to === decider(context),
    )
  if (!('decision' in found) && isMine(found)) return found
  // What is not theirs looks like what is not there.
  return { decision: refused('input.customer', 'No such call was given to you.') }
}

export interface ToldInput {
  reportId: string
  recall: string
  customer: string
}

export function recordTold(context: Context, input: ToldInput): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const found = await recallFor(context, input)
    if ('decision' in found) return found.decision
    const recall = found.matter.number
    return sayings('quality.customer-told.v1', `recall:${recall}`, {
      data: [{ recall, customer: input.customer, by: decider(context) }],
      sentence: `${input.customer} is told of recall ${recall}.`,
    })
  })
}

export interface AnswerInput {
  reportId: string
  recall: string
  customer: string
  lines: { pack?: string | null; mark?: string | null; castings: number; outcome: string }[]
}

/** What a customer says became of the recalled castings it got. */
export function recordAnswer(context: Context, input: AnswerInput): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const found = await recallFor(context, input)
    if ('decision' in found) return found.decision
    const recall = found.matter.number
    const lines = input.lines.map(({ pack, mark, castings, outcome }) => ({
      ...(pack != null && { pack: pack.replace(/^pack:/, '') }),
      ...(mark != null && { mark }),
      castings,
      outcome: outcome.toLowerCase().replaceAll('_', '-'),
    }))
    return sayings('quality.recall-answered.v1', `recall:${recall}`, {
      data: [{ recall, customer: input.customer, lines }],
      sentence: `The answer of ${input.customer} to recall ${recall} is recorded.`,
    })
  })
}
