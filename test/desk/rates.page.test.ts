import type { Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, inject, it } from 'vitest'
import { percentWords } from '../../services/desk/words/number.ts'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

const ABOUT = {
  stage: 'after-blast',
  from: '2026-04-01T06:00:00.000Z',
  to: '2026-04-20T06:00:00.000Z',
}
const address = (more: Record<string, string>) =>
  `/rates?${new URLSearchParams({ ...ABOUT, ...more })}`

describe.skipIf(!browserProgram)('Rates side by side', () => {
  let desk: DeskBrowser
  const answered = (page: Page) => page.locator('h2.answer').waitFor()

  beforeAll(async () => {
    desk = await DeskBrowser.start()
  })
  afterAll(() => desk[Symbol.asyncDispose]())
  beforeEach(() => {
    desk.complaints = []
  })

  it('show the figures of the house, how a recipe washed in, and the SQL', async () => {
    const page = await desk.open('analyst', address({ by: 'RECIPE' }))
    await answered(page)
    const { defectRates } = await desk.ask<{
      defectRates: {
        rows: { edges: { node: { group: string[]; counted: { rate: { value: number } } } }[] }
      }
    }>(
      `query ($about: DefectQuestion!) { defectRates(about: $about, by: [RECIPE]) { ... on Rates {
        rows { edges { node { group counted { rate { value } } } } } } } }`,
      { about: { stage: ABOUT.stage, window: { from: ABOUT.from, to: ABOUT.to } } },
      'analyst',
    )
    const rows = page.getByRole('region', { name: 'Bad castings by group' }).locator('tbody tr')
    expect(await rows.count()).toBe(defectRates.rows.edges.length)
    for (const [i, { node }] of defectRates.rows.edges.entries()) {
      const text = await rows.nth(i).textContent()
      expect(text).toContain(node.group.join(', '))
      expect(text).toContain(percentWords(node.counted.rate.value))
      expect(text).toMatch(/told apart/)
    }
    await page.getByText('Changeover: whose metal was poured, day by day').waitFor()
    await page.getByText('SQL that gives the same').click()
    expect(await page.locator('.sql').textContent()).toMatch(/select/i)
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('are taken along as a file by whoever is signed in', async () => {
    const page = await desk.open('analyst', address({ by: 'LINE' }))
    await answered(page)
    const href = await page.getByRole('link', { name: 'CSV' }).getAttribute('href')
    const file = await page.context().request.get(new URL(href!, page.url()).href)
    expect(file.status()).toBe(200)
    expect(await file.text()).toMatch(/^group,castings,/)
  })

  it('are split by two as a grid', async () => {
    const page = await desk.open('quality', address({ by: 'PRODUCT', by2: 'LINE' }))
    await answered(page)
    await page.getByRole('region', { name: /^Bad castings, each of 0 to/ }).waitFor()
    expect(await page.locator('.rates td svg').count()).toBeGreaterThan(1)
    expect(await findingsIn(page)).toEqual([])
  })

  it('ask which lot before they are split by one', async () => {
    const page = await desk.open('quality', address({ by: 'LOT', defect: 'pinhole' }))
    await page.getByText('Name which one in the sentence, and ask.').waitFor()
    await page.getByRole('combobox', { name: 'Which lot' }).selectOption(inject('badLot'))
    await page.getByRole('button', { name: 'Ask', exact: true }).press('Enter')
    await page.getByText(/^More of it, more defects:/).waitFor()
    expect(new URL(page.url()).searchParams.get('lot')).toBe(inject('badLot'))
    expect(await findingsIn(page)).toEqual([])
  })

  it('compare with the group that is pressed, and leave out heats on request', async () => {
    const page = await desk.open('quality', address({ by: 'PRODUCT' }))
    await answered(page)
    await page.getByTitle('Compare the others with it').first().click()
    await page.getByText(/Compared with /).waitFor()
    await page.getByRole('link', { name: 'Leave them out' }).click()
    await page.getByRole('link', { name: 'Count them' }).waitFor()
  })

  it.each([
    { width: 320, height: 700 },
    { width: 640, height: 450 },
  ])('need no scrolling of the page to the side at $width px', async (size) => {
    const page = await desk.open('quality', address({ by: 'RECIPE' }), size)
    await answered(page)
    const width = await page.evaluate('document.documentElement.scrollWidth')
    expect(width).toBeLessThanOrEqual(size.width)
    // The phone has the table.
    expect(await page.locator('td .drawn').first().isVisible()).toBe(false)
    expect(await findingsIn(page)).toEqual([])
  })

  it('lead from a shift to its heats, and from a heat to where it came from', async () => {
    const page = await desk.open('analyst', address({ by: 'PRODUCT', per: 'SHIFT' }))
    await page.getByRole('heading', { name: /^Point by point/ }).waitFor()
    const points = page.getByRole('region', { name: 'Whether the rate keeps still' })
    const listed = points.getByRole('table')
    await points.getByText('The same as a table').click()
    const shifts = await listed.locator('tbody tr').count()
    await listed.getByRole('link').first().click()
    await points
      .getByRole('link', { name: /^heat / })
      .first()
      .waitFor()
    const heats = await listed.locator('tbody tr').count()
    expect(heats).toBeGreaterThan(1)
    await points.getByRole('link', { name: 'List all points' }).click()
    await points.getByRole('link', { name: 'List all points' }).waitFor({ state: 'detached' })
    await points.getByText('The same as a table').click()
    await listed.waitFor()
    expect(await listed.locator('tbody tr').count()).toBeGreaterThan(Math.max(heats, shifts))
    expect(await findingsIn(page)).toEqual([])
    await points
      .getByRole('link', { name: /^heat / })
      .first()
      .click()
    await page.getByRole('heading', { name: 'The way here' }).waitFor()
    expect(desk.complaints).toEqual([])
  })

  it('lead from a recipe to the heats of its time', async () => {
    const page = await desk.open('analyst', address({ by: 'RECIPE' }))
    await answered(page)
    await page.getByTitle('The heats of that time').first().click()
    const points = page.getByRole('region', { name: 'Whether the rate keeps still' })
    await points
      .getByRole('link', { name: /^heat / })
      .first()
      .waitFor()
    await points.getByRole('link', { name: 'List all points' }).waitFor()
    expect(await points.getByRole('table').textContent()).toContain('Poured from')
    expect(await findingsIn(page)).toEqual([])
  })

  it('print with their heads', async () => {
    const page = await desk.open('quality', address({ by: 'RECIPE' }))
    await answered(page)
    const paper = await page.pdf({ format: 'A4' })
    expect(paper.subarray(0, 5).toString()).toBe('%PDF-')
  })

  it('belong to quality and analysts', async () => {
    const page = await desk.open('service', '/rates')
    await page.getByText('This page belongs to quality and analyst.').waitFor()
  })
})
