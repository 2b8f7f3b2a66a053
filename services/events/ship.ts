// The ship station: finished castings packed, repacked, shipped, come back, counted.
import { materials, touched } from './consumed.ts'
import { declare, fact, slotOf } from './event-type.ts'
import { THINGS } from './fact.ts'
import {
  castings,
  choice,
  id,
  kg,
  lines,
  list,
  optional,
  type Quantity,
  ref,
  text,
} from './field.ts'
import { grams } from './measure.ts'
import { impossible } from './problem.ts'
import { castingWords, kgWords, listWords, thingWords } from './words.ts'

const SOURCES = ['load', 'tote', 'pour', 'pack'] as const
const product = text('What is in it.', 64)
const mark = text('A label on iron, carton or pallet; many packs may bear one.')
const spot = optional(text('Where it stands.', 64))

const pansPacked = declare({
  type: 'ship.pans-packed.v1',
  means: 'Finished castings were packed.',
  fields: {
    pack: id('pack', 'The pack.'),
    marks: list(mark, 'The marks it bears.', 0),
    lines: lines(
      {
        product,
        sources: optional(
          lines(
            { of: ref(SOURCES, 'Where they came from.'), castings: optional(castings('From it.')) },
            'Where they came from.',
          ),
        ),
        castings: castings('Packed.'),
      },
      'What is in it.',
    ),
    serials: optional(
      lines(
        {
          pan: id('pan', 'A piece with its own serial.'),
          of: optional(ref(['pour', 'load', 'tote'], 'Where it came from.')),
        },
        'The pieces that are marked one by one.',
      ),
    ),
    materials,
    spot,
  },
  subject: (data) => 'pack:' + data.pack,
  slot: (data) => slotOf(data.pack),
  slotMeans: 'pack',
  impossible(data) {
    const packed = total(data.lines)
    if (data.serials && data.serials.length > packed) {
      return [
        impossible('serials', `are more than the ${packed} castings packed`, 'Check the counts'),
      ]
    }
    return data.lines.flatMap((line, i) => {
      const sum = total(line.sources ?? [])
      if (sum <= line.castings.value) return []
      const problem = `add to ${sum}, more than the ${line.castings.value} packed`
      return [impossible(`lines[${i}].sources`, problem, 'Check the counts')]
    })
  },
  facts(data, { at, station }) {
    const of = 'pack:' + data.pack
    return [
      ...data.lines.flatMap(({ product, castings, sources }, i) => [
        fact('pack-line', {
          of,
          at,
          line: i + 1,
          product,
          amount: castings.value,
          spot: data.spot,
        }),
        ...(sources ?? []).map((source) =>
          fact('pack-source', {
            of,
            at,
            other: source.of,
            line: i + 1,
            product,
            amount: source.castings?.value,
          }),
        ),
      ]),
      ...data.marks.map((mark) => fact('pack-marked', { of, at, mark })),
      ...(data.serials ?? []).map((serial) =>
        fact('pan-packed', { of: 'pan:' + serial.pan, at, via: of, other: serial.of }),
      ),
      ...touched({ of, at, station }, data.materials),
    ]
  },
  says: (data) =>
    `Packed ${castingWords({ value: total(data.lines) })} of ` +
    `${listWords(data.lines.map((line) => line.product))} as pack ${data.pack}`,
})

const packsRepacked = declare({
  type: 'ship.packs-repacked.v1',
  means: 'Castings went from packs into other packs.',
  fields: {
    outOf: lines(
      { pack: id('pack', 'A pack.'), castings: castings('Taken out of it.') },
      'What they were taken out of.',
    ),
    into: lines(
      {
        pack: id('pack', 'A pack.'),
        marks: list(mark, 'The marks it bears.', 0),
        product,
        castings: castings('Put into it.'),
      },
      'What they were put into.',
    ),
    reason: choice(['repack', 'relabel', 'break-bulk'], 'Why.'),
  },
  subject: (data) => 'pack:' + data.into[0]!.pack,
  impossible(data) {
    const [out, into] = [total(data.outOf), total(data.into)]
    if (into <= out) return []
    const problem = `holds ${into} castings, more than the ${out} taken out`
    return [impossible('into', problem, 'Check the counts of outOf and into')]
  },
  unusual(data) {
    const lost = total(data.outOf) - total(data.into)
    return lost > 0 ? [`outOf gave ${lost} castings more than went into packs`] : []
  },
  facts(data, { at }) {
    const out = total(data.outOf)
    return data.into.flatMap(({ pack, marks, product, castings }) => {
      const of = 'pack:' + pack
      return [
        // Nobody says which went where: of every pack in its proportion.
        ...data.outOf.map((from) =>
          fact('repacked', {
            of,
            at,
            other: 'pack:' + from.pack,
            product,
            amount: out > 0 ? (castings.value * from.castings.value) / out : 0,
            reason: data.reason,
          }),
        ),
        ...marks.map((mark) => fact('pack-marked', { of, at, mark })),
      ]
    })
  },
  says: (data) =>
    `Repacked ${castingWords({ value: total(data.into) })} from pack ` +
    `${listWords(data.outOf.map(({ pack }) => pack))} into ${listWords(data.into.map(({ pack }) => pack))}`,
})

const packsShipped = declare({
  type: 'ship.packs-shipped.v1',
  means: 'Packs left for a customer together.',
  fields: {
    shipment: id('shipment', 'The shipment.'),
    customer: text('Who gets it, as a code.', 64),
    lines: lines({ pack: id('pack', 'A pack.'), castings: castings('Of it.') }, 'What left.'),
  },
  subject: (data) => 'shipment:' + data.shipment,
  slot: (data) => slotOf(data.shipment),
  slotMeans: 'shipment',
  facts: (data, { at }) =>
    data.lines.map(({ pack, castings }) =>
      fact('shipped', {
        of: 'shipment:' + data.shipment,
        at,
        other: 'pack:' + pack,
        amount: castings.value,
        customer: data.customer,
      }),
    ),
  says: (data) =>
    `Shipped ${castingWords({ value: total(data.lines) })} to ${data.customer} as ${data.shipment}`,
})

const castingsReturned = declare({
  type: 'ship.castings-returned.v1',
  means: 'Castings came back from a customer.',
  fields: {
    return: id('return', 'The return.'),
    customer: text('Who sent them back, as a code.', 64),
    lines: lines(
      {
        pack: optional(id('pack', 'The pack, where it is known.')),
        mark: optional(mark),
        product,
        castings: castings('How many.'),
      },
      'What came back.',
    ),
    into: optional(ref(['load', 'tote', 'lot'], 'Where they went.')),
    reason: text('Why.'),
  },
  subject: (data) => 'return:' + data.return,
  slot: (data) => slotOf(data.return),
  slotMeans: 'return',
  facts: (data, { at }) =>
    data.lines.map(({ pack, mark, product, castings }) =>
      fact('castings-returned', {
        of: pack === undefined ? 'return:' + data.return : 'pack:' + pack,
        at,
        product,
        amount: castings.value,
        customer: data.customer,
        mark,
        via: data.into,
      }),
    ),
  says: (data) =>
    `${castingWords({ value: total(data.lines) })} came back from ${data.customer}: ${data.reason}`,
})

const stockCounted = declare({
  type: 'ship.stock-counted.v1',
  means: 'What stands somewhere was counted or weighed.',
  fields: {
    of: ref(THINGS, 'What was counted.'),
    castings: optional(castings('Castings found.')),
    kg: optional(kg('Mass found.')),
    spot,
  },
  subject: (data) => data.of,
  impossible: (data) =>
    data.castings || data.kg
      ? []
      : [impossible('castings', 'and kg are both missing', 'Give what was counted or weighed')],
  facts: (data, { at }) => [
    fact('stock-counted', {
      of: data.of,
      at,
      castings: data.castings?.value,
      grams: grams(data.kg),
      spot: data.spot,
    }),
  ],
  says: (data) =>
    `Counted ${data.castings ? castingWords(data.castings) : kgWords(data.kg)} of ${thingWords(data.of)}`,
})

export const SHIP = [pansPacked, packsRepacked, packsShipped, castingsReturned, stockCounted]

function total(lines: readonly { castings?: Quantity }[]): number {
  return lines.reduce((sum, line) => sum + (line.castings?.value ?? 0), 0)
}
