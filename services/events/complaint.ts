// Complaints: what callers say of castings, what an examination finds, and that a promised call was made.
import { declare, fact, slotOf } from './event-type.ts'
import { castings, choice, flag, id, lines, moment, optional, ref, text } from './field.ts'
import { impossible } from './problem.ts'

export const CASTINGS = ['molds', 'pour', 'load', 'tote', 'pack', 'pan', 'lot', 'return'] as const
export const product = optional(text('What is cast.', 64))
export const cavity = optional(text('The place on the plate.', 64))
export const defect = text('The defect, as the plant codes it.', 64)

const complaintReceived = declare({
  type: 'inspect.complaint-received.v1',
  means: 'Somebody complained about castings; nothing here may tell who the consumer is.',
  fields: {
    complaint: id('complaint', 'The complaint.'),
    marks: optional(
      lines(
        {
          place: choice(['iron', 'carton', 'pallet', 'serial'], 'Where it stands.'),
          text: text('As read; ? for a sign nobody can read.'),
        },
        'The marks that could be read.',
      ),
    ),
    product,
    cavity,
    castings: optional(castings('How many.')),
    defect: optional(defect),
    words: optional(text('What was said.', 2000)),
    receivedAt: moment('When it came.'),
    boughtOn: optional(text('When it was bought, as said.', 40)),
    evidence: optional(choice(['piece', 'photo', 'words'], 'What there is to go by.')),
    injury: optional(flag('Somebody was hurt.')),
    customer: optional(text('The customer it was sold through, as a code.', 64)),
    callBackAt: optional(moment('The caller was promised a call back by then.')),
    by: optional(id('person', 'Who took it down, as a code.')),
  },
  subject: (data) => 'complaint:' + data.complaint,
  slot: (data) => slotOf(data.complaint),
  slotMeans: 'complaint',
  impossible(data) {
    if (!data.words || !PERSONAL.test(data.words)) return []
    const fix = 'Leave it out: the record cannot be erased. Marks go under marks'
    return [impossible('words', 'hold a mail address or a telephone number', fix)]
  },
  facts: (data) => [
    fact('complained', {
      of: 'complaint:' + data.complaint,
      at: data.receivedAt,
      marks: data.marks?.map((mark) => mark.text) ?? [],
      product: data.product,
      cavity: data.cavity,
      amount: data.castings?.value,
      defect: data.defect,
      customer: data.customer,
      evidence: data.evidence,
      injury: data.injury ?? false,
      callBackAt: data.callBackAt,
      by: data.by,
    }),
  ],
  says: (data) =>
    `Complaint ${data.complaint}` +
    (data.defect ? ` about ${data.defect}` : '') +
    (data.product ? ` on ${data.product}` : ''),
})
/** A mail address, or nine digits in a row as telephone numbers are written. */
const PERSONAL = /\S@\S+\.\S|(?:\d[ ()./-]{0,2}){9}/

const complaintExamined = declare({
  type: 'inspect.complaint-examined.v1',
  means: 'A complaint was examined.',
  fields: {
    complaint: id('complaint', 'The complaint.'),
    defect,
    confirmed: flag('The defect is there.'),
    of: optional(ref(CASTINGS, 'What the casting was found to be of.')),
  },
  subject: (data) => 'complaint:' + data.complaint,
  slot: (data, { at }) => slotOf(data.complaint, at),
  slotMeans: 'complaint and time',
  facts: (data, { at }) => [
    fact('complaint-examined', {
      of: 'complaint:' + data.complaint,
      other: data.of,
      at,
      defect: data.defect,
      confirmed: data.confirmed,
    }),
  ],
  says: (data) =>
    `Examined complaint ${data.complaint}: ${data.defect} ${data.confirmed ? '' : 'not '}confirmed`,
})

const calledBack = declare({
  type: 'inspect.caller-called-back.v1',
  means: 'Whoever complained was called back, as promised.',
  fields: {
    complaint: id('complaint', 'The complaint.'),
    by: id('person', 'Who called, as a code.'),
  },
  subject: (data) => 'complaint:' + data.complaint,
  slot: (data) => slotOf(data.complaint),
  slotMeans: 'complaint',
  facts: (data, { at }) => [
    fact('called-back', { of: 'complaint:' + data.complaint, at, by: data.by }),
  ],
  says: (data) => `Called back about complaint ${data.complaint}`,
})

export const COMPLAINTS = [complaintReceived, complaintExamined, calledBack]
