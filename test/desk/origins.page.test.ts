import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

describe.skipIf(!browserProgram)('A quality engineer with a bad pan', () => {
  let desk: DeskBrowser
  let pack: string

  beforeAll(async () => {
    desk = await DeskBrowser.start()
    const { packs } = await desk.ask<{ packs: { edges: { node: { id: string } }[] } }>(
      '{ packs(first: 10) { edges { node { id } } } }',
    )
    pack = packs.edges.at(-1)!.node.id
  })
  afterAll(() => desk[Symbol.asyncDispose]())
  beforeEach(() => {
    desk.complaints = []
  })

  it('sees the way here, the furnace, what was measured and what touched it', async () => {
    const page = await desk.open('quality', `/origins?${new URLSearchParams({ of: pack })}`)
    await page.getByRole('heading', { name: 'The way here' }).waitFor()
    await page.getByRole('heading', { name: /^Furnace .* around heat/ }).waitFor()
    expect(await page.getByText('the mold', { exact: true }).count()).toBe(1)
    expect(await page.getByRole('table', { name: /^Measured on the way/ }).count()).toBe(1)
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('names the thing as one says it', async () => {
    const page = await desk.open('quality', `/origins?${new URLSearchParams({ of: pack })}`)
    const thing = page.getByLabel('thing or mark')
    expect(await thing.inputValue()).toBe(pack.replace(':', ' '))
    await thing.fill('Pack PK9999-999')
    await thing.press('Enter')
    await page.waitForURL((url) => url.searchParams.get('of') === 'pack:PK9999-999')
  })

  it('takes a part in hand and reads what fed it', async () => {
    const page = await desk.open('quality', `/origins?${new URLSearchParams({ of: pack })}`)
    await page.getByRole('heading', { name: 'The way here' }).waitFor()
    await page.locator('.way rect[data-id^="heat:"]').first().click()
    await page.getByText(/was fed by .*charge/).waitFor()
  })

  it('reads it on a telephone without scrolling sideways', async () => {
    const address = `/origins?${new URLSearchParams({ of: pack })}`
    const page = await desk.open('quality', address, { width: 320, height: 640 })
    await page.getByRole('heading', { name: 'The way here' }).waitFor()
    const wider = await page.evaluate('document.documentElement.scrollWidth - innerWidth')
    expect(wider).toBeLessThanOrEqual(0)
    expect(await findingsIn(page)).toEqual([])
  })

  it('reads what came since an answer was given, and what it changed', async () => {
    const { origins } = await desk.ask<{ origins: { id: string } }>(
      'query ($id: ID!) { origins(of: {id: $id}) { ... on Origins { id } } }',
      { id: pack },
    )
    const since = {
      sentence: 'One pour is likelier than it was.',
      things: { edges: [{ node: { id: 'pour:P1' }, before: 0.39, now: 0.45 }] },
      reports: { totalCount: 2 },
    }
    const page = await desk.open('quality', `/answer?${new URLSearchParams({ id: origins.id })}`, {
      prepare: (tab) =>
        tab.route('**/graphql', (route) =>
          route.request().postDataJSON().operationName === 'OriginsSince'
            ? route.fulfill({ json: { data: { answer: { __typename: 'Origins', since } } } })
            : route.continue(),
        ),
    })
    await page.getByText('2 reports came in that touch this answer.').waitFor()
    await page.getByText('Show them').click()
    await page.getByText('pour P1: 39 in 100 then, 45 in 100 now').waitFor()
    // It was given: it stays as it was.
    expect(await page.getByRole('button', { name: 'Answer again' }).count()).toBe(0)
    expect(await findingsIn(page)).toEqual([])
  })

  it('is told when there is no such thing', async () => {
    const page = await desk.open('quality', '/origins?of=pack:PK9999-999')
    await page.getByRole('heading', { level: 2 }).waitFor()
    expect(await page.getByRole('heading', { level: 2 }).textContent()).toMatch(
      /pack PK9999-999|PK9999/,
    )
    expect(desk.complaints).toEqual([])
  })
})
