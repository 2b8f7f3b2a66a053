import { afterAll, beforeAll, beforeEach, describe, expect, inject, it } from 'vitest'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

describe.skipIf(!browserProgram)('A rep with a caller on the telephone', () => {
  let desk: DeskBrowser
  let mark: string

  beforeAll(async () => {
    desk = await DeskBrowser.start()
    const { packs } = await desk.ask<{ packs: { edges: { node: { marks: string[] } }[] } }>(
      '{ packs(first: 20) { edges { node { marks } } } }',
    )
    mark = packs.edges.flatMap(({ node }) => node.marks)[0]!
  })
  afterAll(() => desk[Symbol.asyncDispose]())
  beforeEach(() => {
    desk.complaints = []
  })

  it('types the mark and has one answer to read aloud', async () => {
    const page = await desk.open('service', '/inquiry')
    await page.getByLabel('Mark as the caller reads it').fill(mark)
    await page.keyboard.press('Enter')
    const answer = page.getByRole('heading', { level: 2 })
    await answer.waitFor()
    expect(await answer.textContent()).toMatch(
      /You may reassure|Not yet: do not reassure|Recalled|Cannot say: ask quality/,
    )
    expect(await page.title()).toBe(`May I reassure about ${mark}?`)
    expect(new URL(page.url()).searchParams.get('mark')).toBe(mark)
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('is answered by what was asked while the page was on its way, once', async () => {
    const asked: string[] = []
    const page = await desk.open('service', '/inquiry')
    page.on('request', (request) => {
      const { operationName } = (request.postDataJSON() ?? {}) as { operationName?: string }
      if (operationName === 'Inquiry') asked.push(request.url())
    })
    await page.goto(`${page.url()}?${new URLSearchParams({ mark })}`)
    await page.getByRole('heading', { level: 2 }).waitFor()
    expect(asked).toHaveLength(1)
    expect(desk.complaints).toEqual([])
  })

  it('finds the marks asked before where none is asked', async () => {
    const page = await desk.open('service', `/inquiry?${new URLSearchParams({ mark })}`)
    await page.getByRole('heading', { level: 2 }).waitFor()
    await page.goto(new URL('/inquiry', page.url()).href)
    await page.getByRole('img', { name: /^A mark sits/ }).waitFor()
    expect(await findingsIn(page)).toEqual([])
    await page.getByRole('link', { name: mark, exact: true }).click()
    await page.getByRole('heading', { level: 2 }).waitFor()
    expect(await page.title()).toBe(`May I reassure about ${mark}?`)
  })

  it('writes a complaint down once, however often it is pressed', async () => {
    const page = await desk.open('service', `/inquiry?${new URLSearchParams({ mark })}`)
    await page.getByLabel('What is wrong').fill('blister')
    await page.getByLabel('In their words').fill('It flakes.')
    const button = page.getByRole('button', { name: 'Write it down' })
    await button.dblclick()
    await page.getByText(/Published|Already published/).waitFor()
    await button.click()
    await page.getByText('Already published').waitFor()
    expect(desk.complaints).toEqual([])
  })

  it('is told what was tried when there is no such mark', async () => {
    const page = await desk.open('service', '/inquiry?mark=K99-9999-Z9')
    await page
      .getByRole('heading', { level: 2, name: /Write the complaint down all the same\.$/ })
      .waitFor()
    await page.getByRole('form', { name: 'Write it down' }).waitFor()
    expect(await findingsIn(page)).toEqual([])
  })

  it('has the old words struck through and the new ones spoken when a hold comes during the call', async () => {
    const { packs } = await desk.ask<{
      packs: { edges: { node: { id: string; marks: string[] } }[] }
    }>('{ packs(first: 200) { edges { node { id marks } } } }')
    const pack = await freePack(
      desk,
      packs.edges.map(({ node }) => node),
    )
    const page = await desk.open(
      'service',
      `/inquiry?${new URLSearchParams({ mark: pack.marks[0]! })}`,
    )
    const answer = page.getByRole('heading', { level: 2 })
    await answer.waitFor()
    expect(await answer.textContent()).not.toContain('Not yet: do not reassure')
    const said = await page.locator('blockquote.say').textContent()
    const { placeHold } = await desk.ask<{ placeHold: { __typename: string } }>(
      'mutation ($input: HoldInput!) { placeHold(input: $input) { __typename ... on Refused { problems { sentence } } } }',
      {
        input: {
          reportId: crypto.randomUUID(),
          of: { things: [{ of: pack.id }] },
          reason: 'Looked odd.',
          say: 'Please set yours aside.',
        },
      },
    )
    expect(placeHold).toMatchObject({ __typename: 'Published' })
    await answer.filter({ hasText: 'Not yet: do not reassure' }).waitFor()
    expect(await page.locator('.old s').textContent()).toBe(said?.trim().replace(/\s+/g, ' '))
    await page.getByRole('alert').filter({ hasText: 'Not yet: do not reassure' }).waitFor()
    await page.getByText('Please set yours aside.').first().waitFor()
    expect(await findingsIn(page)).toEqual([])
  })

  it('reassures nobody once the house is not heard, and asks again when it is', async () => {
    const page = await desk.open('service', `/inquiry?${new URLSearchParams({ mark })}`)
    const answer = page.getByRole('heading', { level: 2 })
    await answer.waitFor()
    const before = await answer.textContent()
    await page.context().setOffline(true)
    await page.getByRole('button', { name: 'May I reassure?' }).click()
    await answer.filter({ hasText: 'Cannot say: ask quality' }).waitFor()
    expect(await page.locator('blockquote.say').count()).toBe(0)
    expect(await findingsIn(page)).toEqual([])
    await page.context().setOffline(false)
    await page.getByRole('button', { name: 'Ask again' }).click()
    await expect.poll(() => answer.textContent(), { timeout: 20_000 }).toBe(before)
  })

  it('says what to do first where somebody is hurt or ill', async () => {
    const page = await desk.open('service', `/inquiry?${new URLSearchParams({ mark })}`)
    await page.getByLabel('yes').check()
    await page.getByText('Tell quality now, before anything else.').waitFor()
  })

  it('has a question for the caller where a sign is smudged, and the careful words on top', async () => {
    const smudged = `${mark.slice(0, -1)}?`
    const page = await desk.open('service', `/inquiry?${new URLSearchParams({ mark: smudged })}`)
    await page
      .locator('#sheet')
      .getByText(/It may be one of \d+\. Ask the caller:/)
      .waitFor()
    expect(await page.locator('.candidates li').count()).toBeGreaterThan(1)
    await page.locator('blockquote.say').waitFor()
    expect(await findingsIn(page)).toEqual([])
  })

  it.each([320, 640])('is one column without scrolling to the side at %i px', async (width) => {
    const page = await desk.open('service', `/inquiry?${new URLSearchParams({ mark })}`, { width })
    await page.getByRole('heading', { level: 2 }).waitFor()
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(width)
  })

  it('says that many are asking, and whose fault it is', async () => {
    const busy = await desk.open('service', '/inquiry', {
      prepare: (page) =>
        page.route('**/graphql', (route) =>
          route.fulfill({ status: 503, headers: { 'retry-after': '30' }, body: '{}' }),
        ),
    })
    await busy.getByLabel('Mark as the caller reads it').fill(mark)
    await busy.keyboard.press('Enter')
    await busy.getByText('Many are asking; again in 30 s.').waitFor()
    const errors = [{ message: 'x', extensions: { code: 'INTERNAL', errorId: '7f3a0000-1' } }]
    const broken = await desk.open('service', '/inquiry', {
      prepare: (page) => page.route('**/graphql', (route) => route.fulfill({ json: { errors } })),
    })
    await broken.getByLabel('Mark as the caller reads it').fill(mark)
    await broken.keyboard.press('Enter')
    await broken
      .getByText('The desk could not answer (fault 7f3a0000). Nothing was changed.')
      .waitFor()
    expect(await findingsIn(broken)).toEqual([])
  })

  it('prints on half a sheet', async () => {
    const page = await desk.open('service', `/inquiry?${new URLSearchParams({ mark })}`)
    await page.getByRole('heading', { level: 2 }).waitFor()
    const paper = (await page.pdf({ preferCSSPageSize: true })).toString('latin1')
    // A5, lying: 210 by 148 mm in points.
    expect(paper).toMatch(/MediaBox ?\[0 0 59[45](\.\d+)? 4(19|20)(\.\d+)?\]/)
    expect(paper.match(/\/Type ?\/Page\b/g)).toHaveLength(1)
  })
})

/**
 * One that no hold or recall of another test stands on, nor will: they run at the same time, and all of theirs
 * are about the bad lot.
 */
async function freePack(desk: DeskBrowser, packs: { id: string; marks: string[] }[]) {
  const { reach } = await desk.ask<{ reach: { packs: { edges: { node: { id: string } }[] } } }>(
    `query ($from: ID!) { reach(from: { things: [$from] }, affected: { share: 0.01 }) {
      ... on Reach { packs(first: 200) { edges { node { id } } } } } }`,
    { from: inject('badLot') },
  )
  const touched = new Set(reach.packs.edges.map(({ node }) => node.id))
  for (const pack of packs.toReversed()) {
    if (pack.marks.length === 0 || touched.has(pack.id)) continue
    const { inquiry } = await desk.ask<{ inquiry: { reassurance?: string } }>(
      'query ($mark: String!) { inquiry(mark: $mark) { ... on Inquiry { reassurance } } }',
      { mark: pack.marks[0] },
    )
    if (['MAY', 'CANNOT_SAY'].includes(inquiry.reassurance ?? '')) return pack
  }
  throw new Error('All packs are on hold or recalled.')
}
