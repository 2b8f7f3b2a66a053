// Answers that come out again by their number.
import { coerceInputValue, type GraphQLSchema } from 'graphql'
import { momentText } from '../../events/moment.ts'
import type { Context } from '../context.ts'
import { askedIn, type Question } from './answer-id.ts'
import { capability } from './capability.ts'
import { causes } from './causes.ts'
import { chart } from './chart.ts'
import { complaintRates } from './complaint-rates.ts'
import { concentration } from './concentration.ts'
import { origins } from './origins.ts'
import { rateChart } from './rate-chart.ts'
import { defectRates } from './rates.ts'
import { reach } from './reach.ts'
import { reconcile } from './reconcile.ts'

/** What answers a question again; its arguments have been held to the schema. */
const ANSWERED: Record<Question, (context: Context, args: never) => Promise<object>> = {
  origins,
  reach,
  chart,
  rateChart,
  capability,
  defectRates,
  complaintRates,
  causes,
  concentration,
  reconcile,
}

/** An answer worked out anew from its number, as of the same moment; null for what is no such number. */
export async function answerAgain(
  context: Context,
  schema: GraphQLSchema,
  id: string,
): Promise<object | null> {
  const asked = askedIn(id)
  const args = asked && argsOf(schema, asked.question, { ...asked.args, asOf: asked.asOf })
  if (!args) return null
  const found = await ANSWERED[asked.question](context, args as never)
  return 'id' in found ? found : null
}

/** Arguments from the number of an answer, held to the schema as any are; undefined when they do not fit. */
function argsOf(
  schema: GraphQLSchema,
  question: string,
  given: Record<string, unknown>,
): Record<string, unknown> | undefined {
  const written: Record<string, unknown> = JSON.parse(JSON.stringify(given), (name, value) =>
    typeof value === 'number' && MOMENTS.has(name) && Number.isSafeInteger(value)
      ? momentText(value)
      : value,
  )
  const field = schema.getQueryType()!.getFields()[question]!
  const args: Record<string, unknown> = {}
  let fits = Object.keys(written).every((name) => field.args.some((arg) => arg.name === name))
  for (const { name, type, defaultValue } of field.args) {
    // An answer from before there was such an argument did not say it.
    if (written[name] === undefined && defaultValue !== undefined) args[name] = defaultValue
    else
      args[name] = coerceInputValue(written[name], type, () => {
        fits = false
      })
  }
  return fits ? args : undefined
}

const MOMENTS = new Set(['asOf', 'from', 'to'])
