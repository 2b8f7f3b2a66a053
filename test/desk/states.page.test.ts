// Every page in every state in which it has no answer, or none that can be relied on. What the house says is doctored
// on its way, so that all pages are held to the same words.
import type { Page, Route } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest'
import type { Role } from '../../services/access/who.ts'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

/** A date alone takes four. */
const MOST_TABS = 60

type Doctor = (route: Route) => unknown

const NONE = { edges: [], totalCount: 0, pageInfo: { hasNextPage: false, endCursor: null } }
const MATTER = { id: 'hold:H-1', number: 'H-1', state: 'OPEN', at: '2026-04-11T16:00:00Z' }
const HOLD = {
  ...MATTER,
  ...{ __typename: 'Hold', reason: 'Blisters.', say: null, due: null, partsMissing: 2 },
  covers: NONE,
}
const NEAR = { written: 'x', sentence: 'There is no such thing as x.', near: ['lot:1', 'lot:2'] }
const CANDIDATES = [1, 2].map((i) => ({
  because: 'One sign differs.',
  fit: 0.5,
  thing: { id: `lot:${i}` },
}))
const RESTS = {
  ...{ verdict: 'GAPS', sentence: 'Season is silent since 11:20.', asOf: '2026-04-11T16:00:00Z' },
  ...{ setAside: 0, namedOnly: 1, inferred: 0, conflicts: 0, stations: [], gaps: [] },
}
const BROKEN = {
  ...{ __typename: 'TrailBroken', sentence: 'The trail stops at load T-44.' },
  ...{ of: { id: 'pack:1' }, knownUpTo: [{ id: 'load:T-44' }], completeness: RESTS },
}
const HELD = { sentence: 'Nothing of this is known.', tried: ['marks of packs'], things: [] }
const WHY = { because: 'One sign differs.', fit: 0.5, asks: [] }

interface Case {
  role: Role
  address: string
  /** The question that the page stands and falls with. */
  asks: string
  /** In place of what the house would say to it. */
  answer?: object
  /** What is doctored to be one of the states that this page has, and the words that tell. */
  states?: Record<string, [answer: object, words: string]>
  /** News count reports that came since. */
  isSince?: boolean
  isGap?: boolean
}

describe.skipIf(!browserProgram)('Every page without a good answer', () => {
  let desk: DeskBrowser
  const tabs = new Map<Role, Page>()
  const cases: Record<string, Case> = {
    'In hand': {
      ...{ role: 'quality', address: '/?hand=x+y', asks: 'ThingsInHand', answer: { inHand: HELD } },
      states: {
        unknown: [{ inHand: HELD }, 'Tried: marks of packs.'],
        unclear: [
          {
            inHand: {
              ...HELD,
              sentence: 'It may be one of two.',
              things: [
                {
                  ...{ offset: 0, length: 1, written: 'x', id: null, label: 'x', asks: [] },
                  candidates: [1, 2].map((i) => ({ ...WHY, id: `lot:${i}`, label: `lot ${i}` })),
                },
              ],
            },
          },
          'x may be one of these',
        ],
      },
    },
    'Nothing in hand': { role: 'service', address: '/', asks: 'ReportsIn', isGap: true },
    Inquiry: {
      ...{ role: 'service', address: '/inquiry?mark=x', asks: 'Inquiry' },
      answer: { inquiry: { __typename: 'MarkNotFound', ...NEAR, near: [] } },
      states: {
        unknown: [
          { inquiry: { __typename: 'MarkNotFound', ...NEAR, near: ['K1'] } },
          'Easily mixed up:',
        ],
        unclear: [
          {
            inquiry: {
              ...{ __typename: 'MarkUnclear', written: 'K?', askCaller: 'Is the handle hollow?' },
              ...{ reassurance: 'NOT_YET', say: ['Please set it aside.'] },
              candidates: [1, 2].map((i) => ({ mark: `K${i}`, products: [], made: null })),
            },
          },
          'It may be one of 2. Ask the caller: Is the handle hollow?',
        ],
      },
    },
    Origins: {
      ...{ role: 'quality', address: '/origins?of=x', asks: 'Origins', isSince: true },
      answer: { origins: { __typename: 'NotKnown', ...NEAR } },
      states: {
        unknown: [{ origins: { __typename: 'NotKnown', ...NEAR } }, 'Easily mixed up:'],
        unclear: [
          { origins: { __typename: 'Unclear', candidates: CANDIDATES } },
          'It may be one of these',
        ],
        'broken trail': [{ origins: BROKEN }, 'Known up to there: load T-44'],
      },
    },
    Reach: {
      ...{ role: 'quality', address: '/reach?from=x', asks: 'Reach' },
      answer: { reach: { __typename: 'NotKnown', ...NEAR } },
      states: {
        unknown: [{ reach: { __typename: 'NotKnown', ...NEAR } }, 'Easily mixed up:'],
        unclear: [
          { reach: { __typename: 'Unclear', candidates: CANDIDATES } },
          'It may be one of these',
        ],
        'broken trail': [{ reach: BROKEN }, 'Season is silent since 11:20.'],
      },
    },
    Causes: {
      ...{ role: 'quality', asks: 'Causes', isSince: true },
      address: '/causes?stage=after-bake&from=2026-04-06T06:00:00Z&to=2026-04-14T06:00:00Z',
      isGap: true,
    },
    Rates: {
      ...{ role: 'quality', asks: 'Rates', isSince: true },
      address: '/rates?stage=after-bake&from=2026-04-06T06:00:00Z&to=2026-04-14T06:00:00Z',
      isGap: true,
    },
    Recall: {
      ...{ role: 'quality', address: '/recall?of=hold:H-1', asks: 'Matter', isSince: true },
      answer: { node: HOLD },
      states: {
        unknown: [{ node: null }, 'There is no hold H-1.'],
        waiting: [{ node: HOLD }, '2 parts of what it covers did not come in'],
      },
    },
    'Holds and recalls': {
      ...{ role: 'quality', address: '/recall', asks: 'Matters' },
      answer: { recalls: NONE, holds: NONE },
      states: { empty: [{ recalls: NONE, holds: NONE }, 'Nothing is on hold or recalled.'] },
    },
    Floor: {
      ...{ role: 'quality', address: '/floor?of=hold:H-1', asks: 'ToFind', answer: { node: HOLD } },
      states: {
        unknown: [{ node: null }, 'There is no hold H-1.'],
        waiting: [{ node: HOLD }, '2 parts of what it covers did not come in'],
      },
    },
    Calls: {
      ...{ role: 'service', address: '/calls', asks: 'Calls', isSince: true },
      answer: { myCalls: NONE },
      states: { empty: [{ myCalls: NONE }, 'No call was given to you.'] },
    },
    Drill: {
      ...{ role: 'quality', address: '/drill', asks: 'Drills', isSince: true },
      answer: { drills: NONE },
      states: { empty: [{ drills: NONE }, 'No drill is on record.'] },
    },
    Waiting: {
      ...{ role: 'quality', address: '/waiting', asks: 'Waiting', isSince: true },
      answer: { waiting: NONE },
      states: { empty: [{ waiting: NONE }, 'Nothing waits for you.'] },
    },
    Report: {
      ...{ role: 'quality', address: '/report?of=pack:x', asks: 'Report', isSince: true },
      answer: { node: null },
      states: { unknown: [{ node: null }, 'Nothing is known of pack x.'] },
    },
    'Set aside': {
      ...{ role: 'quality', address: '/set-aside', asks: 'SetAside', isSince: true },
      answer: { setAside: NONE },
      states: { empty: [{ setAside: NONE }, 'Nothing was set aside.'] },
    },
    'An answer by its number': {
      ...{ role: 'quality', address: '/answer?id=chart:x', asks: 'FormerAnswer' },
      answer: { answer: null },
      states: { unknown: [{ answer: null }, 'There is no answer of that number.'] },
    },
  }

  /** What becomes of the question that is doctored; everything else goes on to the house. */
  let doctored: { asks: string; doctor: Doctor } | undefined

  beforeAll(async () => {
    desk = await DeskBrowser.start()
    for (const role of ['quality', 'service'] as const) {
      const page = await desk.newTab({ isKept: true })
      await page.clock.install()
      await page.addInitScript(TOLD_NEWS)
      await page.route('**/graphql', (route) => {
        const { operationName } = route.request().postDataJSON() as { operationName: string }
        return operationName === doctored?.asks ? doctored.doctor(route) : route.continue()
      })
      await desk.goTo(page, role, '/report')
      await page.locator('h1').waitFor()
      tabs.set(role, page)
    }
  })
  afterAll(() => desk[Symbol.asyncDispose]())

  it.each(Object.keys(cases))('%s says why, and what to do', async (name) => {
    const one = cases[name]!
    const page = tabs.get(one.role)!
    const failures: [doctor: Doctor, words: string, button: string | undefined][] = [
      [(route) => route.abort(), 'The house cannot be reached.', 'Ask again'],
      [(route) => route.fulfill({ status: 503 }), 'Many are asking; again in 5 s.', 'Ask again'],
      [
        coded('INTERNAL'),
        'The desk could not answer (fault 7F3A0000). Nothing was changed.',
        'Ask again',
      ],
      [coded('FORBIDDEN'), 'This is not yours to ask.', undefined],
      [(route) => route.fulfill({ status: 401 }), 'Signed out.', 'Sign in'],
      [coded('BAD_USER_INPUT'), 'Name another day.', undefined],
    ]
    for (const [doctor, words, button] of failures) {
      await show(page, one, doctor)
      const state = page.locator('#sheet .state').filter({ hasText: words })
      await state.waitFor()
      if (button) await state.getByRole('button', { name: button }).waitFor()
      await promisesNothing(page, `${name}: ${words}`)
    }
    // All of these are drawn by one function: the last is looked at for all.
    expect(await findingsIn(page), name).toEqual([])
  })

  it.each(Object.keys(cases))(
    '%s may be waited for, stopped, and asked again by keyboard',
    async (name) => {
      const one = cases[name]!
      const page = tabs.get(one.role)!
      await show(page, one, () => undefined)
      await page.clock.fastForward(400)
      await page.locator('#sheet .state', { hasText: 'Working it out' }).waitFor()
      await page.clock.fastForward(5_000)
      await page.locator('#sheet .state', { hasText: 'Still working' }).waitFor()
      await checked(page, `${name}: slow`)
      await page.getByRole('button', { name: 'Stop' }).press('Enter')
      await page.locator('#sheet .state', { hasText: 'Stopped.' }).waitFor()
      doctored = answeredBy(one)
      // A page is entered at its question, and goes on from there.
      await page.locator('h1').focus()
      const again = page.getByRole('button', { name: 'Ask again' }).and(page.locator(':focus'))
      for (let tabs = 0; tabs < MOST_TABS && (await again.count()) === 0; tabs++)
        await page.keyboard.press('Tab')
      expect(await again.count()).toBe(1)
      await page.keyboard.press('Enter')
      await page.locator('#sheet h2.answer').waitFor()
    },
  )

  const states = Object.entries(cases).flatMap(([name, one]) =>
    Object.entries(one.states ?? {}).map(([state, said]) => [name, state, one, said] as const),
  )

  it.each(states)('%s, %s, is told in its own words', async (name, state, one, [answer, words]) => {
    const page = tabs.get(one.role)!
    await show(page, one, (route) => route.fulfill({ json: { data: answer } }))
    await page.locator('#sheet').getByText(words).first().waitFor()
    await checked(page, `${name}: ${state}`)
  })

  const far = `/reach?${new URLSearchParams({ from: inject('badLot'), share: '0.01' })}`
  const overGaps: [string, Case][] = [
    ...Object.entries(cases).filter(([, one]) => one.isGap),
    ['A lot that went far', { role: 'quality', address: far, asks: 'Reach' }],
  ]

  it.each(overGaps)('%s over a gap names it', async (name, one) => {
    const page = tabs.get(one.role)!
    await show(page, one, async (route) => {
      const answer = await (await route.fetch()).text()
      const gap = answer
        .replace(
          /"verdict":"\w+","sentence":"[^"]*"/g,
          `"verdict":"WAITING","sentence":"${RESTS.sentence}"`,
        )
        .replace(/"gaps":\[[^\]]*\]/g, '"gaps":[]')
      return route.fulfill({ body: gap, contentType: 'application/json' })
    })
    await page.locator('.gap', { hasText: RESTS.sentence }).waitFor()
    await checked(page, `${name}: waiting`)
  })

  it.each(Object.entries(cases).filter(([, one]) => one.isSince))(
    '%s tells what came since, and moves nothing',
    async (name, one) => {
      const page = tabs.get(one.role)!
      doctored = answeredBy(one)
      await visit(page, one.address)
      const answer = page.locator('#sheet h2.answer')
      await answer.waitFor()
      const before = await answer.textContent()
      await page.evaluate('tellNews("reports", { reports: { melt: 2, pour: 1 } })')
      const line = page.locator('.news', { hasText: '3 reports came in since this answer.' })
      await line.waitFor()
      expect(await answer.textContent()).toBe(before)
      await checked(page, `${name}: changed since`)
      await line.getByRole('button', { name: 'Answer again' }).click()
      await line.waitFor({ state: 'detached' })
    },
  )

  it('tells a rep who is cut off, or answered no more, to reassure nobody', async () => {
    const page = tabs.get('service')!
    const inquiry = {
      ...{ __typename: 'Inquiry', mark: 'K1', reassurance: 'MAY', say: ['All is well.'] },
      ...{ because: 'No notice exists.', next: 'Nothing.', products: [], packs: 1, castings: 48 },
      ...{ made: null, shippedOn: null, shippedToCaller: null, inspected: null, complaints: 0 },
      ...{
        asOf: RESTS.asOf,
        cautions: [],
        completeness: { verdict: 'WHOLE', sentence: 'All in.' },
      },
    }
    const one = cases.Inquiry!
    const may = page.getByRole('heading', { level: 2, name: 'You may reassure' })
    const cannot = page.getByRole('heading', { level: 2, name: 'Cannot say: ask quality' })
    await show(page, one, (route) => route.fulfill({ json: { data: { inquiry } } }))
    await may.waitFor()
    await page.evaluate('tellNews("error")')
    await cannot.waitFor()
    await page.evaluate('tellNews("open")')
    await may.waitFor()
    // Asked again by itself, and never answered.
    doctored = { asks: one.asks, doctor: () => undefined }
    await page.clock.fastForward(10_000)
    await page.clock.fastForward(5_000)
    await cannot.waitFor()
    await page.getByRole('button', { name: 'Stop' }).click()
    await page.getByText('Stopped.').waitFor()
    await cannot.waitFor()
  })

  it('is told whose page it is by another address', async () => {
    const page = tabs.get('service')!
    await visit(page, '/drill')
    await page.getByText('This page belongs to quality.').waitFor()
    await checked(page, 'not yours')
  })

  it('says at the top that nothing is heard, and how old what is read is', async () => {
    const page = tabs.get('quality')!
    await show(page, cases.Waiting!, (route) =>
      route.fulfill({ json: { data: { waiting: NONE } } }),
    )
    await page.evaluate('tellNews("error")')
    await page.getByText(/^Not connected since \d\d:\d\d\. You see what was known at/).waitFor()
    await checked(page, 'not connected')
    await page.evaluate('tellNews("open")')
    await page.getByText(/^Not connected since/).waitFor({ state: 'detached' })
  })

  it.each(Object.entries(cases))(
    '%s needs no scrolling to the side, whether narrow or magnified',
    async (_, one) => {
      const page = tabs.get(one.role)!
      doctored = answeredBy(one)
      // 1,280 px magnified to 400 and to 200 in 100.
      for (const width of [320, 640]) {
        await page.setViewportSize({ width, height: 800 })
        await visit(page, one.address)
        await page.locator('#sheet h2.answer').waitFor()
        const over = await page.evaluate('document.documentElement.scrollWidth - window.innerWidth')
        expect(over, `at ${width} px`).toBeLessThanOrEqual(0)
      }
    },
  )

  async function show(page: Page, { asks, address }: Case, doctor: Doctor): Promise<void> {
    doctored = { asks, doctor }
    await visit(page, address)
  }
})

/** As a link of the desk does, without a new document. */
async function visit(page: Page, address: string): Promise<void> {
  await page.evaluate(`
    document.activeElement.blur()
    history.pushState(null, '', ${JSON.stringify(address)})
    dispatchEvent(new PopStateEvent('popstate'))`)
  await page.locator('h1:focus').waitFor()
}

/** Holds for every state: nothing is let go, and axe finds nothing. */
async function checked(page: Page, where: string): Promise<void> {
  await promisesNothing(page, where)
  expect(await findingsIn(page), where).toEqual([])
}

async function promisesNothing(page: Page, where: string): Promise<void> {
  // biome-ignore lint/performance/useDomNodeTextContent: what is hidden is not read
  const text = (await page.locator('#sheet').innerText()).replaceAll('not clear', '')
  expect(text, where).not.toMatch(/\bclear\b/i)
  expect(text, where).not.toContain('You may reassure')
}

function answeredBy({ asks, answer }: Case) {
  return answer && { asks, doctor: (route: Route) => route.fulfill({ json: { data: answer } }) }
}

function coded(code: string): Doctor {
  const errors = [{ message: 'Name another day.', extensions: { code, errorId: '7F3A0000-1' } }]
  return (route) => route.fulfill({ json: { errors } })
}

/** News that the test tells, in place of those of the house. */
const TOLD_NEWS = `
  globalThis.EventSource = class extends EventTarget {
    static CLOSED = 2
    readyState = 1
    close() {}
    constructor() {
      super()
      globalThis.tellNews = (kind, data) => {
        this.dispatchEvent(new MessageEvent(kind, { data: JSON.stringify(data) }))
      }
      setTimeout(() => tellNews('open'))
    }
  }`
