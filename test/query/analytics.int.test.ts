import { expect, it } from 'vitest'
import { askAnalytics, refreshAnalytics } from '../../services/query/analytics/command.ts'
import { ANALYTICS } from '../../services/store/analytics-tables.ts'
import { onEachDatabase } from '../store/databases.ts'
import { Asking, someone } from './asking.ts'
import type { Saying } from './record.ts'
import { DAY } from './small-plant.ts'

const looked = (inspection: string, of: string, hour: string, data: object): Saying => ({
  type: 'inspect.castings-inspected.v1',
  time: `2026-03-02T${hour}:00-06:00`,
  data: { inspection, of: [of], stage: 'after bake', ...data },
})
/** Odd numbers of odd mixtures, so that a sum in another order comes out otherwise. */
const SAID: Saying[] = [
  ...DAY,
  ...Array.from({ length: 23 }, (_, i) =>
    looked(
      `X-${i}`,
      i % 3 === 0 ? 'pour:P-2' : i % 3 === 1 ? 'load:LD-1' : 'pour:P-1',
      `12:${10 + i}`,
      {
        castings: 7 + ((5 * i) % 11),
        defects: [
          { defect: "it's", castings: i % 4 },
          { defect: 'blister', castings: (i % 5) + 1 },
        ],
        defective: 1 + (i % 6),
        ...(i % 2 === 0 ? { product: 'skillet 10' } : {}),
      },
    ),
  ),
  {
    type: 'inspect.complaint-received.v1',
    time: '2026-03-05T15:00:00-06:00',
    data: {
      complaint: 'C-1',
      receivedAt: '2026-03-05T15:00:00-06:00',
      marks: [{ place: 'carton', text: 'K26-0412-B?' }],
      defect: 'rust',
    },
  },
  // What is left of K-1, and K-2 with skillets and lids.
  {
    type: 'ship.packs-shipped.v1',
    time: '2026-03-06T09:00:00-06:00',
    data: {
      shipment: 'SH-2',
      customer: 'Copse End',
      lines: [
        { pack: 'K-2', castings: 11 },
        { pack: 'K-1', castings: 7 },
      ],
    },
  },
  ...Array.from({ length: 7 }, (_, i) => complained(i + 2)),
  {
    type: 'inspect.complaint-examined.v1',
    time: '2026-03-20T15:00:00-06:00',
    data: { complaint: 'C-3', defect: 'rust', confirmed: false },
  },
]

/** Of marks that fit both packs, of one of them, and of none. */
function complained(i: number): Saying {
  const receivedAt = `2026-03-${10 + i}T15:00:00-06:00`
  const text = ['K26-0412-B?', 'K26-0412-B8', 'K26-0412-B7', 'Z9'][i % 4]!
  return {
    type: 'inspect.complaint-received.v1',
    time: receivedAt,
    data: {
      ...{ complaint: `C-${i}`, receivedAt, marks: [{ place: 'carton', text }] },
      ...{ defect: i % 3 === 0 ? "it's" : 'rust', castings: 1 + (i % 3) },
      ...(i % 2 === 0 ? { product: 'skillet 10' } : {}),
    },
  }
}

const ASK = `query ($about: DefectQuestion!, $by: [RateBy!]!, $lot: ID, $supplier: String, $material: String,
    $shifts: [String!], $step: Step, $ownMetal: Float, $withoutMisfits: Boolean) {
  defectRates(about: $about, by: $by, lot: $lot, supplier: $supplier, material: $material, shifts: $shifts,
    step: $step, ownMetal: $ownMetal, withoutMisfits: $withoutMisfits) {
    ... on Rates { sql asOf rows(first: 200) { edges { node { group counted { castings defective rate { value } } } } } } } }`
const ASK_COMPLAINTS = ASK.replace('$about: DefectQuestion!', '$of: ComplaintsOf!').replace(
  'defectRates(about: $about',
  'complaintRates(of: $of',
)
const WINDOW = { from: '2026-03-02T00:00:00-06:00', to: '2026-03-03T00:00:00-06:00' }

const SHIFTS = ['06:00', '14:00', '22:00']

onEachDatabase('Tables for analysts', (database) => {
  it('give the numbers of an answer to the last digit', { timeout: 120_000 }, async () => {
    const asking = await Asking.start(database.store)
    await asking.record.say(...SAID)
    await refreshAnalytics(database.store)
    const rates = async (by: string[], more: object = {}, about: object = {}) => {
      const variables = { by, ownMetal: 0.9, withoutMisfits: false, shifts: SHIFTS, ...more }
      const asked = { ...variables, about: { stage: 'after bake', window: WINDOW, ...about } }
      return (await asking.ask(ASK, asked, someone('analyst'))).defectRates
    }
    const complaints = async (by: string[], more: object = {}, of: object = {}) => {
      const variables = { by, ownMetal: 0.9, withoutMisfits: false, shifts: SHIFTS, ...more }
      const window = { from: '2026-03-02T00:00:00-06:00', to: '2026-03-07T00:00:00-06:00' }
      const asked = { ...variables, of: { window, ...of } }
      return (await asking.ask(ASK_COMPLAINTS, asked, someone('analyst'))).complaintRates
    }
    const shifts = { shifts: ['07:30', '19:30'] }
    const split = [
      await complaints(['PRODUCT']),
      await complaints(['CAVITY']),
      await complaints(['FURNACE'], { withoutMisfits: true }),
      await complaints(['LOT'], { lot: 'lot:IN-9' }),
      await complaints(['MACHINE', 'SHIFT'], { step: 'BAKE', ...shifts }),
      await complaints(['PRODUCT'], {}, { defects: ["it's"] }),
      await complaints(['CAVITY'], {}, { product: 'skillet 10' }),
      await complaints(['PRODUCT'], {}, { window: { ...WINDOW, to: '2026-03-06T00:00:00-06:00' } }),
      await rates(['RECIPE']),
      await rates(['RECIPE'], { ownMetal: 0.9999 }),
      await rates(['FURNACE']),
      await rates(['LINE']),
      await rates(['PATTERN']),
      await rates(['CAVITY']),
      await rates(['PRODUCT']),
      await rates(['DAY']),
      await rates(['SHIFT'], shifts),
      await rates(['LOT'], { lot: 'lot:IN-9' }),
      await rates(['SUPPLIER'], { supplier: 'Ridge Iron' }),
      await rates(['MATERIAL'], { material: 'inoculant' }),
      await rates(['MACHINE'], { step: 'BAKE' }),
      await rates(['SHIFT', 'CAVITY'], shifts),
      await rates(['MACHINE', 'SHIFT'], { step: 'BAKE', ...shifts }),
      await rates(['SHIFT', 'MACHINE'], { step: 'BAKE', ...shifts }),
      await rates(['SHIFT'], shifts, { defects: ["it's"] }),
      await rates(['SHIFT'], shifts, { product: 'skillet 10' }),
      await rates(['SHIFT'], shifts, { window: { ...WINDOW, from: '2026-03-02T12:15:00-06:00' } }),
      await rates(['SHIFT'], { withoutMisfits: true, ...shifts }),
    ]
    let broken = 0
    for (const { sql, rows } of split) {
      if (sql === undefined) continue
      const { rows: told } = await database.store.pool.query({ text: sql, rowMode: 'array' })
      // biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
      const wanted = rows.edges.map(({ node: { group, counted } }: any) => [
        ...group,
        ...[counted.castings, counted.defective, counted.rate.value],
      ])
      expect(inOrder(told as unknown[][]), sql).toEqual(inOrder(wanted))
      broken += wanted.filter((row: number[]) => !Number.isInteger(row.at(-3)!)).length
    }
    // Most counts are no whole numbers, so that the last digit tells something.
    expect(broken).toBeGreaterThan(20)
    expect(split.filter(({ sql }) => sql === undefined)).toHaveLength(1)
    await others(asking)
  })

  /** On the same record, which takes its while to make. */
  async function others(asking: Asking): Promise<void> {
    const { pool } = database.store
    const written = await pool.query(
      `select table_name, table_rows, as_of from analytics.written order by table_name`,
    )
    expect(written.rows.map(({ table_name }) => table_name)).toEqual(
      Object.keys(ANALYTICS)
        .filter((name) => name !== 'written')
        .sort(),
    )
    for (const { table_name, table_rows } of written.rows) {
      const { rows } = await pool.query(`select count(*)::int as n from analytics.${table_name}`)
      expect([table_name, rows[0].n]).toEqual([table_name, table_rows])
    }
    const { asOf } = (
      await asking.ask(ASK, {
        ...{ by: ['LINE'], ownMetal: 0.9, withoutMisfits: false, shifts: SHIFTS },
        about: { stage: 'after bake', window: WINDOW },
      })
    ).defectRates
    expect(written.rows[0].as_of).toEqual(new Date(asOf))

    // A column nobody explained says nothing to an analyst.
    const silent = await pool.query(
      `select relname, attname from pg_class c join pg_attribute a on a.attrelid = c.oid
       where relnamespace = 'analytics'::regnamespace and relkind = 'r' and attnum > 0
         and col_description(c.oid, attnum) is null`,
    )
    expect(silent.rows).toEqual([])

    // 600 of 601 kg of H-1, and half a kilogram of inoculant to 250 kg of it in the ladle.
    const lots = await pool.query(
      `select lot, share from analytics.pour_lot where pour = 'pour:P-1' order by share desc`,
    )
    expect(lots.rows[0]).toMatchObject({ lot: 'lot:PI-77' })
    expect(lots.rows[0].share).toBeCloseTo(((600 / 601) * 250) / 250.5, 9)
    const packs = await pool.query(
      `select pack, sum(share) as share from analytics.pack_lot group by pack order by pack`,
    )
    expect(packs.rows.length).toBeGreaterThan(2)
    for (const { share } of packs.rows) expect(share).toBeLessThan(1 + 1e-9)
    expect(
      (await pool.query('select kg, target_kg, material from analytics.charge_line order by kg'))
        .rows,
    ).toEqual([
      { kg: 200, target_kg: null, material: null },
      { kg: 400, target_kg: 410, material: 'pig iron' },
      { kg: 500, target_kg: null, material: 'returns' },
    ])
    const recipe = await pool.query(
      'select recipe, revision, castings from analytics.rates_by_recipe',
    )
    expect(recipe.rows).toHaveLength(1)
    const [place] = (
      await pool.query(`select * from analytics.complaint_pack where complaint = 'complaint:C-1'`)
    ).rows
    expect(place).toMatchObject({ complaint: 'complaint:C-1', pack: 'pack:K-1', chance: 1 })

    // Worked out again, they hold the same, and what somebody made of them stays.
    await pool.query('create view own_view as select * from analytics.lot')
    await refreshAnalytics(database.store)
    expect(
      await askAnalytics(database.store, 'select lot, supplier from own_view order by lot'),
    ).toMatch(/^lot,supplier\r\nlot:IN-9,Vale\r\nlot:OIL-3,Mill\r\nlot:PI-77,Ridge Iron\r\n$/)
    await expect(askAnalytics(database.store, 'delete from analytics.lot')).rejects.toThrow(
      /read-only transaction/,
    )
    await pool.query('drop view own_view; drop schema analytics cascade')
  }
})

/** Whichever order rows come in. */
function inOrder(rows: readonly unknown[][]): unknown[][] {
  return [...rows].sort((a, b) => (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1))
}
