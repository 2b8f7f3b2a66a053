import { randomUUID } from 'node:crypto'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { followThing, nothingFollowed, type View } from '../../services/metal/followed.ts'
import { Reach } from '../../services/metal/reach.ts'
import { PLANT } from '../../services/plant/names.ts'
import { simulate } from '../../services/plant/plant.ts'
import { hear } from '../../services/plant/score/hear.ts'
import type { Truth } from '../../services/plant/truth.ts'
import { inquiry } from '../../services/query/answers/inquiry.ts'
import { someone } from '../bench/plant-store.ts'
import { WorkedHouse } from '../house.ts'

const REACH = `
  query ($from: ReachFrom!, $affected: AffectedBy!, $asOf: DateTime) {
    reach(from: $from, affected: $affected, asOf: $asOf) {
      __typename
      ... on Reach {
        id sentence asOf
        castings { certain possible unknown clear toHold expected { value interval { low high } } }
        leftOut { value }
        places { place castings { certain possible unknown clear } }
        completeness { verdict namedOnly gaps(first: 50) { sort about } }
      }
      ... on NotKnown { sentence }
    }
  }`

const ORIGINS = `
  query ($of: ThingBy!, $after: String) {
    origins(of: $of) {
      __typename
      ... on Origins {
        sentence
        pours(first: 200) { edges { chance { value } } totalCount }
        lots(first: 5, after: $after) {
          edges { node { id } share { value interval { low high } } byHeel byReturns }
          pageInfo { hasNextPage endCursor }
          totalCount
        }
        unrecorded { value }
        unknownSource { value }
      }
    }
  }`

describe('Answers over a foundry that reports with its usual faults', () => {
  let worked: WorkedHouse
  let bad: string
  let beforeCharge: string

  beforeAll(async () => {
    worked = await WorkedHouse.open({ seed: 1, days: 2 })
    bad = worked.truth.cause!.lot
  })
  afterAll(() => worked[Symbol.asyncDispose]())

  interface Edge {
    node: { number: string }
  }

  const sinceOf = async (id: string) => {
    const { answer } = await worked.ask(
      `query ($id: ID!) { answer(id: $id) { ... on Reach { since { joined left sentence
         things { totalCount edges { before now castingsBefore castingsNow node { id } } }
         reports { edges { node { number sentence } } } } } } }`,
      { id },
    )
    return answer.since
  }

  const reach = (from: object, affected: object, more: object = {}) =>
    worked.ask(REACH, { from, affected, ...more }).then(({ reach }) => reach)

  it('promises a caller nothing more from the moment a hold is placed', async () => {
    const { packs } = await worked.ask('{ packs(first: 200) { edges { node { id marks } } } }')
    const inquire = async (mark: string) => {
      const asked = `query ($mark: String!) { inquiry(mark: $mark) { ... on Inquiry { reassurance } } }`
      return (await worked.post(asked, { mark }, 'service')).data.inquiry.reassurance
    }
    const may: { id: string; mark: string }[] = []
    for (const { node } of packs.edges as { node: { id: string; marks: string[] } }[])
      if (may.length < 3 && (await inquire(node.marks[0]!)) === 'MAY')
        may.push({ id: node.id, mark: node.marks[0]! })
    expect(may).toHaveLength(3)
    const onTheWay = {
      ...worked.house.context(someone('service')),
      level: async () => undefined,
      waiting: async () => new Map([['quality', 1]]),
    }
    expect(await inquiry(onTheWay, may[0]!)).toMatchObject({ reassurance: 'CANNOT_SAY' })
    for (const { id, mark } of may) {
      const { placeHold } = await worked.ask(
        `mutation ($input: HoldInput!) { placeHold(input: $input) { __typename ... on Published { matter } } }`,
        { input: { reportId: randomUUID(), of: { things: [{ of: id }] }, reason: 'cracks' } },
      )
      expect(placeHold.__typename).toBe('Published')
      // It may not be in the record yet: but that something is on its way is known.
      expect(await inquire(mark)).not.toBe('MAY')
      await worked.house.settled()
      expect(await inquire(mark)).toBe('NOT_YET')
    }
  })

  it('waits for what is on its way before it says that it cannot say', async () => {
    const { packs } = await worked.ask('{ packs(first: 200) { edges { node { marks } } } }')
    const asked = (mark: string) => inquiry(worked.house.context(someone('service')), { mark })
    const marks = (packs.edges as { node: { marks: string[] } }[]).map(({ node }) => node.marks[0]!)
    let mark: string | undefined
    for (const each of marks)
      mark ??= ((await asked(each)) as { reassurance: string }).reassurance === 'MAY' ? each : mark
    const complain = () =>
      worked.ask(
        `mutation ($input: ComplaintInput!) { recordComplaint(input: $input) { __typename } }`,
        { input: { reportId: randomUUID(), words: 'it rocks on the hob', hurt: false } },
      )
    for (let time = 0; time < 5; time++) {
      // So many at once are not in the record yet when the last is taken in.
      await Promise.all(Array.from({ length: 40 }, complain))
      expect(await asked(mark!)).toMatchObject({ reassurance: 'MAY' })
    }
    await worked.house.settled()
  })

  it('counts as waiting what came in since a request began, though others have read it', async () => {
    const context = worked.house.context(someone('quality'))
    const asked = await context.snapshot()
    const { version } = asked
    await worked.ask(
      `mutation ($input: ComplaintInput!) { recordComplaint(input: $input) { __typename } }`,
      { input: { reportId: randomUUID(), words: 'it rocks on the hob', hurt: false } },
    )
    await worked.house.settled()
    expect(asked.version).toBeGreaterThan(version)
    expect([...(await context.waiting()).values()].reduce((sum, count) => sum + count)).toBe(1)
  })

  it('says of every pack how likely it holds one at all, between what must and what can be', async () => {
    const { reach: found } = await worked.ask(
      `query ($from: ReachFrom!, $affected: AffectedBy!) { reach(from: $from, affected: $affected) {
        ... on Reach { packs(first: 200) { edges { node { id } standing
          chance { value } expected { value } atLeastOne { value interval { low high } }
          bounds { least most } } } } } }`,
      { from: { things: [bad] }, affected: { share: 0.02 } },
    )
    let between = 0
    for (const { chance, expected, atLeastOne, bounds, standing } of found.packs.edges.map(
      (edge: { node: object }) => edge,
    )) {
      expect(atLeastOne.value).toBeGreaterThanOrEqual(chance.value - 1e-9)
      expect(atLeastOne.value).toBeLessThanOrEqual(Math.min(1, expected.value) + 1e-6)
      expect(atLeastOne.interval.low).toBeLessThanOrEqual(atLeastOne.value)
      expect(atLeastOne.interval.high).toBeGreaterThanOrEqual(atLeastOne.value)
      expect(bounds.least).toBeLessThanOrEqual(expected.value + 1e-6)
      expect(bounds.most).toBeGreaterThanOrEqual(expected.value - 1e-6)
      if (standing === 'CERTAIN') expect(atLeastOne.value).toBeCloseTo(1, 9)
      if (atLeastOne.value > 0 && atLeastOne.value < 0.999) between++
    }
    expect(found.packs.edges.length).toBeGreaterThan(20)
    expect(between).toBeGreaterThan(0)
  })

  it('says of a share that no scale shows that it is none to be cleared by', async () => {
    const codes = async (share: number) => {
      const { cautions } = (
        await worked.ask(
          'query ($from: ReachFrom!, $share: Float!) { reach(from: $from, affected: {share: $share}) { ... on Reach { cautions { code } } } }',
          { from: { things: [bad] }, share },
        )
      ).reach
      return cautions.map(({ code }: { code: string }) => code)
    }
    expect(await codes(0.0001)).toContain('below-weighing')
    expect(await codes(0.001)).not.toContain('below-weighing')
  })

  it('counts every casting of the plant once, whatever the share', async () => {
    const all = new Set<number>()
    for (const share of [0.0001, 0.001, 0.01, 0.1, 1]) {
      const { castings, places } = await reach({ things: [bad] }, { share })
      const { certain, possible, unknown, clear, toHold, expected } = castings
      all.add(certain + possible + unknown + clear)
      expect(toHold).toBe(certain + possible + unknown)
      expect(expected.value).toBeLessThanOrEqual(toHold)
      expect(expected.interval.low).toBeGreaterThanOrEqual(certain - 1e-6)
      for (const word of ['certain', 'possible', 'unknown', 'clear'] as const) {
        const inPlaces = places.reduce(
          (sum: number, place: { castings: typeof castings }) => sum + place.castings[word],
          0,
        )
        expect(Math.abs(inPlaces - castings[word])).toBeLessThanOrEqual(places.length)
      }
    }
    expect(all.size).toBe(1)
  })

  it('holds less as the asked share rises, and leaves more of the metal out', async () => {
    let before = { toHold: Number.POSITIVE_INFINITY, leftOut: -1 }
    for (const share of [0.0001, 0.001, 0.01, 0.05, 0.1, 0.2]) {
      const { castings, leftOut } = await reach({ things: [bad] }, { share })
      expect(castings.toHold).toBeLessThanOrEqual(before.toHold)
      expect(leftOut.value).toBeGreaterThanOrEqual(before.leftOut)
      before = { toHold: castings.toHold, leftOut: leftOut.value }
    }
  })

  it('gives shares of lots that come to 1 with what is unrecorded, page by page', async () => {
    const shares: number[] = []
    let after: string | null = null
    let answer: Awaited<ReturnType<WorkedHouse['ask']>>['origins']
    do {
      answer = (await worked.ask(ORIGINS, { of: { id: 'pack:PK0412-020' }, after })).origins
      for (const { share, byHeel, byReturns } of answer.lots.edges) {
        shares.push(share.value)
        expect(share.interval.low).toBeLessThanOrEqual(share.value)
        expect(share.interval.high).toBeGreaterThanOrEqual(share.value)
        expect(byHeel).toBeLessThanOrEqual(share.value + 1e-12)
        expect(byReturns).toBeLessThanOrEqual(share.value + 1e-12)
      }
      after = answer.lots.pageInfo.endCursor
    } while (answer.lots.pageInfo.hasNextPage)
    expect(shares.length).toBe(answer.lots.totalCount)
    expect(shares).toEqual(shares.toSorted((a, b) => b - a))
    const total = shares.reduce((sum, share) => sum + share, answer.unrecorded.value)
    expect(total).toBeCloseTo(1, 9)
    const chances = answer.pours.edges.map(
      ({ chance }: { chance: { value: number } }) => chance.value,
    )
    const all = chances.reduce(
      (sum: number, chance: number) => sum + chance,
      answer.unknownSource.value,
    )
    expect(all).toBeCloseTo(1, 9)
  })

  it('finds backward in a pack what forward puts there', async () => {
    const { view } = worked.house.snapshot.at()
    const followed = nothingFollowed()
    followThing(view, followed, view.things.numberOf('north', bad)!)
    const shares = new Map(
      new Reach(view, followed).pours.map(({ pour, best }) => [view.things.name(pour), best]),
    )
    const { origins } = await worked.ask(
      `{ origins(of: {id: "pack:PK0412-020"}) { ... on Origins {
           pours(first: 200) { edges { chance { value } node { id } } }
           lots(first: 200) { edges { share { value } node { id } } } } } }`,
    )
    let forward = 0
    for (const { chance, node } of origins.pours.edges)
      forward += chance.value * (shares.get(node.id) ?? 0)
    const backward = origins.lots.edges.find(
      ({ node }: { node: { id: string } }) => node.id === bad,
    )
    expect(backward.share.value).toBeCloseTo(forward, 9)
  })

  it('names the charge nobody reported, and never says whole over it', async () => {
    const { completeness } = await reach({ things: [bad] }, { share: 0.01 })
    expect(completeness.verdict).toBe('GAPS')
    expect(completeness.gaps).toContainEqual({ sort: 'NAMED_ONLY', about: 'charge:C0412-f2-17' })
  })

  it('gives an answer again by its number after reports have changed it, and says so now', async () => {
    const before = await reach({ things: [bad] }, { share: 0.01 })
    beforeCharge = before.asOf
    const weighed = 'event:charge-late'
    const outcomes = await worked.say([
      {
        specversion: '1.0',
        id: weighed,
        source: `${PLANT}/melt/charge-scale`,
        type: 'melt.charge-weighed.v1',
        time: '2026-04-12T18:20:00-06:00',
        data: {
          charge: 'C0412-f2-17',
          lines: [
            { of: bad, kg: 900 },
            { of: 'lot:PI-3371', kg: 600 },
          ],
        },
      },
    ])
    expect(outcomes).toEqual(['accepted'])
    const again = await worked.ask(
      `query ($id: ID!) { answer(id: $id) { ... on Reach { sentence asOf castings { certain possible unknown clear } } } }`,
      { id: before.id },
    )
    expect(again.answer.sentence).toBe(before.sentence)
    expect(again.answer.asOf).toBe(before.asOf)
    const now = await reach({ things: [bad] }, { share: 0.01 })
    // What could have been the lot was held before; now it is known how much of it is.
    const affected = ({ certain, possible }: typeof now.castings) => certain + possible
    expect(affected(now.castings)).toBeGreaterThan(affected(before.castings))
    const then = await reach({ things: [bad] }, { share: 0.01 }, { asOf: before.asOf })
    expect(then.castings).toEqual(before.castings)
    const changes = await sinceOf(before.id)
    expect(changes.reports.edges.map((edge: Edge) => edge.node.number)).toEqual([weighed])
    expect(changes.joined - changes.left).toBe(now.castings.toHold - before.castings.toHold)
    const [first] = changes.things.edges
    expect(first.castingsNow).not.toBe(first.castingsBefore)
    expect(changes.sentence).toMatch(
      /^1 report since touches it; [\d,]+ things stand otherwise now/,
    )
    expect(await sinceOf(now.id)).toMatchObject({
      joined: 0,
      left: 0,
      sentence: 'Nothing that touches this answer has come in since.',
      things: { totalCount: 0 },
    })
  })

  it('says of origins what came in since, and which shares are others', async () => {
    const { origins } = await worked.ask(
      `query ($asOf: DateTime!) { origins(of: {id: "heat:H0412-f2-17"}, asOf: $asOf) {
         ... on Origins { since { sentence
           things(first: 200) { edges { before now node { id } } }
           reports { edges { node { number } } } } } } }`,
      { asOf: beforeCharge },
    )
    const { things, reports, sentence } = origins.since
    expect(reports.edges).toEqual([{ node: { number: 'event:charge-late' } }])
    expect(sentence).toMatch(/^1 report since touches it; \d+ things stand otherwise now\.$/)
    const own = things.edges.find(({ node }: { node: { id: string } }) => node.id === bad)
    // 900 of 1,500 kg of the charge, which is most of the heat.
    expect(own.now).toBeGreaterThan(own.before + 0.3)
  })

  it('calls nothing clear after a report about it that could not be read', async () => {
    const before = await reach({ things: [bad] }, { share: 0.01 })
    expect(before.castings.clear).toBeGreaterThan(0)
    const bytes = Buffer.from(
      JSON.stringify({ type: 'melt.heat-dosed.v1', data: { of: bad, kg: 400 } }),
    )
    await worked.house.store.pool.query(
      `insert into set_aside (topic, partition, "offset", class, reason, key, problems, bytes, recorded)
       values ('melt', 0, 1000000, 'UNKNOWN', 'no such type', 'k', '[]', $1, $2)`,
      [bytes, Date.now() + 3_600_000],
    )
    const after = await reach({ things: [bad] }, { share: 0.01 })
    expect(after.castings.clear).toBeLessThan(before.castings.clear / 2)
    expect(after.castings.unknown).toBeGreaterThan(0)
    expect(after.completeness.verdict).toBe('GAPS')
    const again = await reach({ things: [bad] }, { share: 0.01 }, { asOf: after.asOf })
    expect(again.castings).toEqual(after.castings)
    await worked.house.store.pool.query(`delete from set_aside where "offset" = 1000000`)
  })

  it.each([
    ['a share of an inoculant', { things: ['lot:IN-3386'] }, { share: 0.01 }, /inoculant/],
    ['a share of 0', { things: ['lot:SB-3400'] }, { share: 0 }, /above 0/],
    ['a share of more than all', { things: ['lot:SB-3400'] }, { share: 1.5 }, /at most 1/],
    ['a share of an oil', { things: ['lot:OL-3390'] }, { share: 0.01 }, /oil/],
    ['nothing', { things: [] }, { share: 0.01 }, /./],
  ])(
    'refuses %s with one sentence that says what to ask instead',
    async (_, from, affected, sentence) => {
      const { errors } = await worked.post(REACH, { from, affected })
      expect(errors?.[0]?.extensions.code).toBe('BAD_USER_INPUT')
      expect(errors?.[0]?.message).toMatch(sentence)
    },
  )

  it('says what it tried for a thing nobody ever named', async () => {
    const answer = await reach({ things: ['lot:NO-SUCH'] }, { share: 0.01 })
    expect(answer.__typename).toBe('NotKnown')
    expect(answer.sentence).toMatch(/NO-SUCH/)
  })

  it('follows an oil by what it touched: castings oiled with it, and no melt', async () => {
    const { castings, leftOut } = await reach({ things: ['lot:OL-3391'] }, { touched: true })
    expect(castings.certain).toBeGreaterThan(0)
    expect(castings.clear).toBeGreaterThan(0)
    expect(leftOut).toBeNull()
  })
})

describe('Answers against the physical truth of plants that report everything', () => {
  it('call no casting clear that carries the asked share, through log and database', async () => {
    await using worked = await WorkedHouse.open({ seed: 2, days: 1, faults: false })
    const { falseClear, truly } = clearedOf(worked.house.snapshot.at().view, worked.truth)
    expect(truly).toBeGreaterThan(1000)
    expect(falseClear).toEqual([])
  })

  it('nor of another plant, as it is heard', () => {
    const { reports, truth } = simulate({ seed: 3, days: 1, faults: false })
    const { falseClear, truly } = clearedOf(hear(reports).record.at().view, truth)
    expect(truly).toBeGreaterThan(1000)
    expect(falseClear).toEqual([])
  })

  function clearedOf(view: View, truth: Truth): { truly: number; falseClear: string[] } {
    const groups = [...truth.castings.groups()].filter(({ place }) => place.startsWith('pack:'))
    const falseClear: string[] = []
    let truly = 0
    for (const { lot } of truth.metal.lots()) {
      const no = view.things.numberOf('north', lot)
      if (no === undefined) continue
      const followed = nothingFollowed()
      followThing(view, followed, no)
      const reach = new Reach(view, followed)
      const shares = truth.metal.sharesOf(lot)
      if (!reach.byMass) continue
      for (const share of [0.001, 0.01, 0.1]) {
        const held = new Set<string>()
        for (const { node, standing } of reach.scope({ share }).nodes) {
          if (standing !== 'clear') held.add(`${view.things.name(node.thing)} ${node.product}`)
        }
        for (const { pour, place, product, castings } of groups) {
          if ((shares.get(`pour:${pour}`) ?? 0) < share) continue
          truly += castings
          if (!held.has(`${place} ${product}`)) falseClear.push(`${lot} in ${place}`)
        }
      }
    }
    return { truly, falseClear }
  }
})
