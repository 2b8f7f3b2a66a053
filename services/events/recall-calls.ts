// Calls of a recall: to whom each is given, that the customer was told, what it answered. Published by the
// query layer's mutations only.
import { by, recall } from './decision.ts'
import { declare, fact, slotOf } from './event-type.ts'
import { castings, choice, id, lines, optional, text } from './field.ts'

const customer = text('The customer, as a code.', 64)

const callGiven = declare({
  type: 'quality.call-given.v1',
  means:
    'The call to a customer of a recall was given to somebody; given again, it is theirs alone.',
  fields: { recall, customer, to: id('person', 'Who is to call, as a code.'), by },
  subject: (data) => 'recall:' + data.recall,
  slot: (data) => slotOf(data.recall, data.customer),
  slotMeans: 'recall and customer',
  facts: (data, { at }) => [
    fact('call-given', {
      of: 'recall:' + data.recall,
      at,
      customer: data.customer,
      to: data.to,
      by: data.by,
    }),
  ],
  says: (data) => `Gave the call to ${data.customer} about recall ${data.recall} to ${data.to}`,
})

const recallAnswered = declare({
  type: 'quality.recall-answered.v1',
  means: 'A customer said what became of recalled castings.',
  fields: {
    recall,
    customer,
    lines: lines(
      {
        pack: optional(id('pack', 'The pack, where it is known.')),
        mark: optional(text('The mark.')),
        castings: castings('How many.'),
        outcome: choice(
          ['held', 'returned', 'destroyed', 'sold', 'not-found'],
          'What became of them.',
        ),
      },
      'What became of them.',
    ),
  },
  subject: (data) => 'recall:' + data.recall,
  facts: (data, { at }) =>
    data.lines.map((line) =>
      fact('recall-answered', {
        of: 'recall:' + data.recall,
        other: line.pack === undefined ? undefined : 'pack:' + line.pack,
        at,
        amount: line.castings.value,
        customer: data.customer,
        mark: line.mark,
        outcome: line.outcome,
      }),
    ),
  says: (data) => `Customer ${data.customer} answered recall ${data.recall}`,
})

const customerTold = declare({
  type: 'quality.customer-told.v1',
  means: 'A customer was told of a recall.',
  fields: { recall, customer, by },
  subject: (data) => 'recall:' + data.recall,
  slot: (data) => slotOf(data.recall, data.customer),
  slotMeans: 'recall and customer',
  facts: (data, { at }) => [
    fact('customer-told', {
      of: 'recall:' + data.recall,
      at,
      customer: data.customer,
      by: data.by,
    }),
  ],
  says: (data) => `Told customer ${data.customer} of recall ${data.recall}`,
})

export const RECALL_CALLS = [callGiven, recallAnswered, customerTold]
