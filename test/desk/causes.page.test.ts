import type { Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { plain } from '../../services/desk/words/plain.ts'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

const WINDOW = { from: '2026-04-01T06:00:00.000Z', to: '2026-04-20T06:00:00.000Z' }
const CAUSES = `query ($about: DefectQuestion!) { causes(about: $about) { ... on Causes {
  groups(first: 6) { belief factors { name thing { id } } }
} } }`
const PINHOLES = `/causes?${new URLSearchParams({ stage: 'after-blast', defect: 'pinhole', ...WINDOW })}`

interface Group {
  belief: number
  factors: { name: string; thing: { id: string } | null }[]
}

describe.skipIf(!browserProgram)('What explains the defects', () => {
  let desk: DeskBrowser
  let groups: Group[]
  const answered = (page: Page) => page.locator('h2.answer').waitFor()

  beforeAll(async () => {
    desk = await DeskBrowser.start()
    const about = { stage: 'after-blast', defects: ['pinhole'], window: WINDOW }
    groups = (await desk.ask<{ causes: { groups: Group[] } }>(CAUSES, { about })).causes.groups
  })
  afterAll(() => desk[Symbol.asyncDispose]())
  beforeEach(() => {
    desk.complaints = []
  })

  it('starts from what was found lately, and shows what stands out beside nothing', async () => {
    const page = await desk.open('quality', '/causes')
    await page.getByRole('link', { name: 'pinhole, after-blast' }).click()
    await answered(page)
    expect(await page.locator('h2.answer').textContent()).toContain('One thing stands out')
    const rows = page.locator('.explanations > li')
    expect(await rows.count()).toBe(groups.length)
    for (const [i, { factors }] of groups.entries())
      expect(await rows.nth(i).textContent()).toContain(plain(factors[0]!.name))
    // The nothing row is always there, and the caution under the answer.
    expect(await page.locator('figure svg').first().textContent()).toContain(
      'nothing recorded explains it',
    )
    await page.getByText('Moved together is not caused').waitFor()
    expect(await page.title()).toBe(
      'What had the pinhole castings found after-blast that the others had not?',
    )
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('asks on from the first explanation', async () => {
    const page = await desk.open('quality', PINHOLES)
    await answered(page)
    const next = page.getByRole('navigation', { name: 'Ask next' })
    const thing = groups.flatMap(({ factors }) => factors).find((factor) => factor.thing)?.thing
    const reach = next.getByRole('link', { name: /^Where did (?!everything).* go\?$/ })
    expect(await reach.count()).toBe(thing ? 1 : 0)
    if (thing) expect(decodeURIComponent((await reach.getAttribute('href'))!)).toContain(thing.id)
    const rates = await next.getByRole('link', { name: /recipe revision/ }).getAttribute('href')
    expect(Object.fromEntries(new URLSearchParams(rates!.split('?')[1]))).toMatchObject({
      by: 'RECIPE',
      stage: 'after-blast',
      defect: 'pinhole',
    })
    await next.getByRole('link', { name: /^Where did everything that had .* go\?$/ }).click()
    await page.waitForURL('**/reach?factor=*')
    // The answer that was asked on from stands until the next has come.
    await page
      .locator('h2.answer')
      .getByText(/castings are affected|counts\.$/)
      .waitFor()
    await answered(page)
    expect(desk.complaints).toEqual([])
  })

  it('is asked anew by its sentence, from the keyboard', async () => {
    const page = await desk.open('quality', PINHOLES)
    await answered(page)
    await page.getByRole('combobox', { name: 'Looked at' }).selectOption('after-bake')
    await page.getByRole('button', { name: 'Ask', exact: true }).focus()
    await page.keyboard.press('Enter')
    // Pinholes are looked for before the bake.
    await page
      .locator('#sheet')
      .getByText(/^(None|Only \d+) of the [\d,]+ castings looked at had pinhole/)
      .waitFor()
    expect(new URL(page.url()).searchParams.get('stage')).toBe('after-bake')
    expect(await findingsIn(page)).toEqual([])
  })

  it('says so where nothing was looked at', async () => {
    const nobody = { from: '2020-01-01T00:00:00Z', to: '2020-01-02T00:00:00Z' }
    const page = await desk.open(
      'analyst',
      `/causes?${new URLSearchParams({ stage: 'after-bake', ...nobody })}`,
    )
    await answered(page)
    expect(await page.locator('.explanations').count()).toBe(0)
    expect(await findingsIn(page)).toEqual([])
  })

  it('belongs to quality and analysts', async () => {
    const page = await desk.open('service', '/causes')
    await page.getByText('This page belongs to quality and analyst.').waitFor()
    expect(await findingsIn(page)).toEqual([])
  })

  it('keeps the answer where the network goes away, and says what it is', async () => {
    const page = await desk.open('quality', PINHOLES)
    await answered(page)
    const before = await page.locator('h2.answer').textContent()
    await page.context().setOffline(true)
    await page.getByRole('button', { name: 'Ask', exact: true }).click()
    await page.getByText('The house cannot be reached.').waitFor()
    expect(await page.locator('h2.answer').textContent()).toBe(before)
    expect(await findingsIn(page)).toEqual([])
  })

  it.each([
    { width: 320, height: 700 },
    { width: 640, height: 450 },
  ])('needs no scrolling to the side at $width px', async (size) => {
    const page = await desk.open('quality', PINHOLES, size)
    await answered(page)
    const { scroll, client } = await page.evaluate(() => {
      type Root = { scrollWidth: number; clientWidth: number }
      const { document } = globalThis as unknown as { document: { documentElement: Root } }
      return {
        scroll: document.documentElement.scrollWidth,
        client: document.documentElement.clientWidth,
      }
    })
    expect(scroll).toBeLessThanOrEqual(client)
    // Drawn for this width: a sign on the page is as large as it was drawn.
    const box = await page.locator('figure svg').first().boundingBox()
    const drawn = await page.locator('figure svg').first().getAttribute('width')
    expect(Math.abs(box!.width - Number(drawn))).toBeLessThan(1)
  })
})
