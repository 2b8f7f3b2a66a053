// What customers were told, and what they answered.
import type { Context } from '../context.ts'
import { matterIn, sayings } from './decisions.ts'
import { type Decision, decideOnce, decider } from './publish.ts'

export interface ToldInput {
  reportId: string
  recall: string
  customer: string
}

export function recordTold(context: Context, input: ToldInput): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const found = await matterIn(context, 'recall', input.recall)
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
    const found = await matterIn(context, 'recall', input.recall)
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
