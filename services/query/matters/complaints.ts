// Complaints: taken down in one step, and listed.
import { hasOneOf } from '../../access/who.ts'
import type { JsonObject } from '../../events/statement.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { numberFrom, sayings } from './decisions.ts'
import { type Decision, decideOnce, decider, refused } from './publish.ts'

export interface ComplaintInput {
  reportId: string
  mark?: string | null
  product?: string | null
  defect?: string | null
  words?: string | null
  hurt: boolean
  receivedAt?: number | null
  callBackAt?: number | null
}

/** A mark that cannot be read is taken down as heard; nothing here may tell who the consumer is. */
export function recordComplaint(context: Context, input: ComplaintInput): Promise<Decision> {
  return decideOnce(context, input.reportId, 'inspect', async () => {
    const complaint = numberFrom('C', input.reportId)
    const { mark, product, defect, words, hurt } = input
    const data: JsonObject = {
      complaint,
      ...(mark != null && { marks: [{ place: 'carton', text: mark }] }),
      ...(product != null && { product }),
      ...(defect != null && { defect }),
      ...(words != null && { words, evidence: 'words' }),
      injury: hurt,
      receivedAt: new Date(input.receivedAt ?? context.now()).toISOString(),
      ...(input.callBackAt != null && { callBackAt: new Date(input.callBackAt).toISOString() }),
      by: decider(context),
    }
    return sayings('inspect.complaint-received.v1', `complaint:${complaint}`, {
      data: [data],
      sentence: hurt
        ? `Complaint ${complaint} is taken down. Somebody was hurt or fell ill: tell quality now.`
        : `Complaint ${complaint} is taken down.`,
    })
  })
}

export interface CalledBackInput {
  reportId: string
  complaint: string
}

/** A rep says so of complaints they took down; what others took down looks like what is not there. */
export function recordCalledBack(context: Context, input: CalledBackInput): Promise<Decision> {
  return decideOnce(context, input.reportId, 'inspect', async () => {
    const { view } = (await context.snapshot()).at()
    const id = input.complaint
    const no = id.startsWith('complaint:') ? view.things.numberOf(context.plant, id) : undefined
    const [said] = no === undefined ? [] : view.book.of(no, 'complained', view.asOf)
    const mine = hasOneOf(context.who, ['quality']) || said?.fact.by === decider(context)
    if (!said || !mine)
      return refused('input.complaint', `No complaint ${id} is yours: give its id.`)
    if (said.fact.callBackAt === undefined)
      return refused('input.complaint', `No call back was promised for ${id}.`)
    const complaint = id.slice('complaint:'.length)
    return sayings('inspect.caller-called-back.v1', id, {
      data: [{ complaint, by: decider(context) }],
      sentence: `Complaint ${complaint}: the caller was called back.`,
    })
  })
}

interface ComplaintsArgs extends PageArgs {
  window?: { from: number; to: number } | null
}

/** The connection `complaints`, newest first. */
export async function complaints(context: Context, args: ComplaintsArgs) {
  const { view } = (await context.snapshot()).at()
  const rows = view.book
    .all('complained', view.asOf)
    .map(({ fact }) => fact)
    .filter(({ of, at }) => {
      if (view.things.plant(of) !== context.plant) return false
      return args.window == null || (at >= args.window.from && at < args.window.to)
    })
    .sort((a, b) => b.at - a.at || b.of - a.of)
  return pageOfList(
    rows,
    args,
    ({ at, of }) => [at, of],
    (fact) => {
      const [examined] = view.book.of(fact.of, 'complaint-examined', view.asOf)
      const name = view.things.name(fact.of)
      return {
        node: {
          __typename: 'Complaint',
          id: name,
          number: name.slice('complaint:'.length),
          at: fact.at,
          marks: fact.marks,
          product: fact.product === undefined ? null : { name: fact.product },
          defect: examined?.fact.defect ?? fact.defect ?? null,
          confirmed: examined?.fact.confirmed ?? null,
          hurt: fact.injury,
          callBackAt: fact.callBackAt ?? null,
          calledBackAt: view.book.of(fact.of, 'called-back', view.asOf)[0]?.fact.at ?? null,
        },
      }
    },
    { list: 'complaints' },
  )
}
