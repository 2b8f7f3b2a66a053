import { randomUUID } from 'node:crypto'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, inject, it } from 'vitest'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

const ASIDE = {
  ...{ id: 'report:quality/0/1', station: 'MELT', source: null, setAsideAs: 'UNDECODABLE' },
  ...{ recordedAt: '2026-04-11T16:00:00Z', setAsideFor: 'Its bytes are no event.' },
  entered: [{ field: 'as sent', value: '{"tapKg": 12', unit: null }],
}

describe.skipIf(!browserProgram)('The pages of what is decided and reported', () => {
  let desk: DeskBrowser

  beforeAll(async () => {
    desk = await DeskBrowser.start()
  })
  afterAll(() => desk[Symbol.asyncDispose]())
  beforeEach(() => {
    desk.complaints = []
  })

  it('lead from a thing to its reports, and to what one was entered as', async () => {
    const { packs } = await desk.ask<{ packs: { edges: { node: { id: string } }[] } }>(
      '{ packs(first: 1) { edges { node { id } } } }',
    )
    const page = await desk.open('quality', `/report?of=${packs.edges[0]!.node.id}`)
    await page.getByRole('heading', { level: 2, name: /reports? names?/ }).waitFor()
    expect(await findingsIn(page)).toEqual([])
    await page.getByRole('table').getByRole('link').first().click()
    await page.getByText('Taken in').waitFor()
    await page.getByText('As entered', { exact: true }).first().waitFor()
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('show an analyst a report without what was entered', async () => {
    const { heats } = await desk.ask<{
      heats: { edges: { node: { reports: { edges: { node: { id: string } }[] } } }[] }
    }>('{ heats(first: 1) { edges { node { reports(first: 1) { edges { node { id } } } } } } }')
    const { id } = heats.edges[0]!.node.reports.edges[0]!.node
    const page = await desk.open('analyst', `/report?of=${encodeURIComponent(id)}`)
    await page.getByText('Taken in').waitFor()
    expect(await page.getByText('As entered').count()).toBe(0)
  })

  it('run a drill from start to end, once', async () => {
    const page = await desk.open('quality', '/drill')
    await page.getByRole('button', { name: 'Start the clock' }).dblclick()
    const end = page.getByRole('button', { name: 'End the drill: trace it both ways' })
    await end.waitFor()
    expect(await findingsIn(page)).toEqual([])
    await end.click()
    await page.getByRole('heading', { level: 2, name: /castings accounted for/ }).waitFor()
    const { drills } = await desk.ask<{ drills: { totalCount: number } }>(
      '{ drills(first: 1) { totalCount } }',
    )
    expect(drills.totalCount).toBe(1)
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('say what could not be read, and put it through again', async () => {
    const page = await desk.open('quality', '/set-aside', {
      prepare: (page) =>
        page.route('**/graphql', async (route) => {
          const asked = route.request().postDataJSON() as { operationName: string }
          if (asked.operationName !== 'SetAside') return route.continue()
          const pageInfo = { hasNextPage: false, endCursor: null }
          const setAside = { totalCount: 1, pageInfo, edges: [{ node: ASIDE }] }
          return route.fulfill({ json: { data: { setAside } } })
        }),
    })
    await page
      .locator('#sheet')
      .getByText('1 report was set aside. What they say is in no answer.')
      .waitFor()
    await page.getByText('What it says').click()
    await page.getByText('{"tapKg": 12').first().waitFor()
    expect(await findingsIn(page)).toEqual([])
    // The house has none there, and says so.
    await page.getByRole('button', { name: 'Put it through again' }).click()
    await page.getByText('Not possible.').waitFor()
  })

  it('list what was set aside page after page, below what is read', async () => {
    const page = await desk.open('quality', '/set-aside', {
      prepare: (page) =>
        page.route('**/graphql', async (route) => {
          const { operationName, variables } = route.request().postDataJSON() as {
            operationName: string
            variables: { after?: string }
          }
          if (operationName !== 'SetAside') return route.continue()
          const isFirst = variables.after === undefined
          const setAside = {
            totalCount: 2,
            pageInfo: { hasNextPage: isFirst, endCursor: isFirst ? 'x' : null },
            edges: [{ node: { ...ASIDE, id: `${ASIDE.id}${isFirst ? '' : '9'}` } }],
          }
          return route.fulfill({ json: { data: { setAside } } })
        }),
    })
    const articles = page.locator('#sheet article')
    await articles.getByText('What it says').click()
    await page.getByRole('button', { name: 'Show 20 more' }).click()
    await articles.nth(1).waitFor()
    expect(await articles.count()).toBe(2)
    // What was opened stays so.
    await articles.first().getByText('{"tapKg": 12').first().waitFor()
    expect(await page.getByRole('button', { name: 'Show 20 more' }).count()).toBe(0)
  })

  it('give a rep the shops to call, and take down that they were told and what they still have', async () => {
    const { id, customer } = await recallGiven()
    const page = await desk.open('service', '/calls')
    const call = page.getByRole('article', { name: customer })
    await call.waitFor()
    expect(await findingsIn(page)).toEqual([])
    await expectOnPaper(page)
    await call.getByRole('button', { name: 'Told' }).dblclick()
    await call.getByText(/Told (Mon|Tues|Wednes|Thurs|Fri|Satur|Sun)day/).waitFor()
    await call.getByLabel('sent back').fill('2')
    await call.getByRole('button', { name: 'Write it down' }).click()
    await call.getByText('The answer of').waitFor()
    const { node } = await desk.ask<{
      node: { calls: { edges: { node: { toldAt: string | null; givenTo: string } }[] } }
    }>(
      'query ($id: ID!) { node(id: $id) { ... on Recall { calls { edges { node { toldAt givenTo } } } } } }',
      { id },
    )
    expect(node.calls.edges.filter((edge) => edge.node.toldAt !== null)).toHaveLength(1)
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('show a recall as one bar, and close it with what is not found said before', async () => {
    const { recalls } = await desk.ask<{ recalls: { edges: { node: { id: string } }[] } }>(
      '{ recalls(first: 1) { edges { node { id } } } }',
    )
    const page = await desk.open('quality', '/recall')
    await page
      .getByRole('link', { name: /^recall R-/ })
      .first()
      .click()
    await page.getByRole('img', { name: /still to find/ }).waitFor()
    expect(page.url()).toContain(encodeURIComponent(recalls.edges[0]!.node.id))
    await expectOnPaper(page)
    expect(await findingsIn(page)).toEqual([])
    await page.getByText('Close with report').click()
    await page.getByLabel('Why the rest may stay open').fill('The rest was sold long ago.')
    await page
      .getByText(/This will close recall R-\w+ in your name, with [\d,]+ castings not found\./)
      .waitFor()
    await page.getByRole('button', { name: 'Publish' }).last().click()
    await page.getByRole('heading', { level: 2, name: /^Closed\./ }).waitFor()
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  /** Opens a recall of a lot that shops have got, and gives its first call to the rep. */
  async function recallGiven(): Promise<{ id: string; customer: string }> {
    const { reach } = await desk.ask<{ reach: { id: string } }>(
      `query ($lot: ID!) { reach(from: { things: [$lot] }, affected: { share: 0.01 }) { ... on Reach { id } } }`,
      { lot: inject('shippedLot') },
    )
    const opened = await desk.ask<{ openRecall: { matter: string } }>(
      'mutation ($input: RecallInput!) { openRecall(input: $input) { ... on Published { matter } } }',
      {
        input: {
          ...{ reportId: randomUUID(), answer: reach.id, reason: 'Pinholes.' },
          ...{ say: 'Please set it aside.', evenIfChanged: true },
        },
      },
    )
    const id = opened.openRecall.matter
    const customer = await firstCustomer(id)
    const page = await desk.open('service', '/calls')
    await page.locator('#sheet').getByText('No call was given to you.').waitFor()
    const { subject } = (await page.evaluate("fetch('/session').then((said) => said.json())")) as {
      subject: string
    }
    await desk.ask(
      'mutation ($input: GiveCallsInput!) { giveCalls(input: $input) { __typename } }',
      { input: { reportId: randomUUID(), recall: id, customers: [customer], to: subject } },
    )
    await expect
      .poll(() => desk.ask('{ myCalls { totalCount } }', {}, 'service'))
      .toEqual({ myCalls: { totalCount: 1 } })
    return { id, customer }
  }

  async function firstCustomer(id: string): Promise<string> {
    const asked = () =>
      desk.ask<{ node: { calls: { edges: { node: { customer: string } }[] } } | null }>(
        'query ($id: ID!) { node(id: $id) { ... on Recall { calls { edges { node { customer } } } } } }',
        { id },
      )
    await expect.poll(async () => (await asked()).node?.calls.edges.length ?? 0).toBeGreaterThan(0)
    return (await asked()).node!.calls.edges[0]!.node.customer
  }
})

/** The code that opens it again stands on paper, what is for pressing does not, and nothing is cut at the side. */
async function expectOnPaper(page: Page): Promise<void> {
  await page.emulateMedia({ media: 'print' })
  await page.setViewportSize({ width: 700, height: 990 })
  await page.locator('.on-paper svg').waitFor()
  expect(await page.getByRole('button').count()).toBe(0)
  const over = await page.evaluate('document.documentElement.scrollWidth - window.innerWidth')
  expect(over).toBeLessThanOrEqual(0)
  await page.emulateMedia({ media: null })
  await page.setViewportSize({ width: 1280, height: 900 })
}
