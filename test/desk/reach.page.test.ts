import type { Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, inject, it } from 'vitest'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

describe.skipIf(!browserProgram)('A quality engineer with a bad lot', () => {
  let desk: DeskBrowser
  let address: string

  beforeAll(async () => {
    desk = await DeskBrowser.start()
    address = `/reach?${new URLSearchParams({ from: inject('badLot'), share: '0.01' })}`
  })
  afterAll(() => desk[Symbol.asyncDispose]())
  beforeEach(() => {
    desk.complaints = []
  })

  const answerOf = async (page: Page) => {
    const answer = page.getByRole('heading', { level: 2 })
    await answer.waitFor()
    return answer.textContent()
  }
  const asked = () =>
    desk.ask<{ reach: { id: string; castings: { toHold: number } } }>(
      'query($from: ID!) { reach(from: {things: [$from]}, affected: {share: 0.01}) { ... on Reach { id castings { toHold } } } }',
      { from: inject('badLot') },
    )

  it('reads how many are to be held, as the house counts them', async () => {
    const page = await desk.open('quality', address)
    const { reach } = await asked()
    expect(await answerOf(page)).toContain(
      `${reach.castings.toHold.toLocaleString('en')} must be held`,
    )
    expect(await page.title()).toMatch(/^Where did lot .* go, counting a casting from 1 in 100/)
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('moves the ruler by keys alone, and asks from there', async () => {
    const page = await desk.open('quality', address)
    await answerOf(page)
    const ruler = page.getByLabel('Ruler', { exact: true })
    const before = await ruler.getAttribute('aria-valuetext')
    await ruler.focus()
    await page.keyboard.press('Home')
    await page.getByText('castings are to hold, in').waitFor()
    expect(await ruler.getAttribute('aria-valuetext')).not.toBe(before)
    const share = new URL(page.url()).searchParams.get('share')
    await page.getByRole('button', { name: /^Count from/ }).press('Enter')
    await page.waitForURL((url) => url.searchParams.get('share') !== share)
    expect(desk.complaints).toEqual([])
  })

  it('counts an addition by usual doses, and asks from the ruler in doses', async () => {
    const { lots } = await desk.ask<{ lots: { edges: { node: { id: string; role: string } }[] } }>(
      '{ lots(first: 100) { edges { node { id role } } } }',
      {},
    )
    // Of the newest first: the last is one that was used.
    const lot = lots.edges.findLast(({ node }) => node.role === 'INOCULANT')!.node.id
    const page = await desk.open('quality', `/reach?${new URLSearchParams({ from: lot })}`)
    await page.getByText('Ask for any of it at all').waitFor()
    const least = page.getByLabel('the least that counts')
    await least.fill('0.5 doses')
    await least.press('Enter')
    expect(await answerOf(page)).toContain('must be held')
    expect(await page.title()).toContain('counting a casting from 0.5 doses on')
    await page.getByLabel('Ruler', { exact: true }).focus()
    await page.keyboard.press('Home')
    await page.getByText('castings are to hold, in').waitFor()
    await page.getByRole('button', { name: /^Count from .* doses on$/ }).press('Enter')
    await page.waitForURL((url) => url.searchParams.get('dose') !== '0.5')
    expect(await answerOf(page)).toContain('castings')
  })

  it('draws with a step of the ruler only what it moves, and with more packs only those', async () => {
    const page = await desk.open(
      'quality',
      `/reach?${new URLSearchParams({ from: inject('shippedLot') })}`,
    )
    await answerOf(page)
    const changed = (deed: string) =>
      page.evaluate<{ rows: number; still: number; moved: number }>(`(async () => {
        await document.fonts.ready
        const seen = []
        const watch = new MutationObserver((records) => seen.push(...records))
        watch.observe(document.body, { subtree: true, childList: true, attributes: true, characterData: true })
        await (async () => { ${deed} })()
        await Promise.resolve()
        seen.push(...watch.takeRecords())
        watch.disconnect()
        const within = (selector) => seen.filter(({ target }) =>
          (target.nodeType === 1 ? target : target.parentElement)?.closest(selector)).length
        return { rows: within('tr'), still: within('svg.drawing g:nth-of-type(2)'), moved: within('svg.drawing') }
      })()`)
    const step = await changed(`
      const ruler = document.querySelector('input[type=range]')
      ruler.value = String(Number(ruler.value) - 1)
      ruler.dispatchEvent(new Event('input', { bubbles: true }))`)
    expect(step.moved).toBeGreaterThan(0)
    expect(step).toMatchObject({ rows: 0, still: 0 })
    const more = await changed(`
      const rows = () => document.querySelectorAll('.packs tbody tr').length
      const before = rows();
      [...document.querySelectorAll('button')].find(({ textContent }) => textContent === 'Show 50 more').click()
      while (rows() === before) await new Promise(requestAnimationFrame)`)
    // What comes is another part of the list: no row that is read is touched.
    expect(more).toMatchObject({ rows: 0, still: 0 })
  })

  it('sees the sentence before a hold is published, once however often it is pressed', async () => {
    const page = await desk.open('quality', address)
    await answerOf(page)
    await page.getByRole('button', { name: /^Hold these/ }).click()
    await page.getByText('This will publish').waitFor()
    await page.getByLabel('Reason, for colleagues').fill('Chromium in the bundles.')
    const holds = async () =>
      (await desk.ask<{ holds: { totalCount: number } }>('{ holds { totalCount } }')).holds
        .totalCount
    const before = await holds()
    await page.getByRole('button', { name: 'Publish', exact: true }).dblclick()
    await page.getByText(/^Published\.|^Already published/).waitFor()
    expect(await holds()).toBe(before + 1)
    expect(await findingsIn(page)).toEqual([])
  })

  it('has more packs come, and reads why they do not', async () => {
    const page = await desk.open(
      'quality',
      `/reach?${new URLSearchParams({ from: inject('shippedLot') })}`,
    )
    await answerOf(page)
    const shown = () =>
      page.getByRole('table', { name: /packs that are not clear/ }).locator('tbody tr')
    expect(await shown().count()).toBe(50)
    await page.context().setOffline(true)
    await page.getByRole('button', { name: 'Show 50 more' }).click()
    await page.getByText('The house cannot be reached.').waitFor()
    await page.context().setOffline(false)
    await page.getByRole('button', { name: 'Ask again' }).click()
    await shown().nth(50).waitFor()
    const marks = await shown().getByRole('rowheader').allTextContents()
    expect(new Set(marks).size).toBe(marks.length)
  })

  it('follows what went through a machine, by a form where nothing is named yet', async () => {
    const page = await desk.open('quality', '/reach')
    const form = page.getByRole('form', { name: 'What went through a machine' })
    await form.getByLabel('machine').fill('oven-A')
    await form.getByLabel('from').fill('2026-04-11T00:00')
    await form.getByLabel('to').fill('2026-04-13T00:00')
    expect(await findingsIn(page)).toEqual([])
    await form.getByRole('button', { name: 'Follow it' }).click()
    expect(await answerOf(page)).toMatch(/castings are affected|counts\.$/)
    expect(await page.title()).toContain('what went through oven-A')
    expect(new URL(page.url()).searchParams.get('machine')).toBe('oven-A')
    await page.reload()
    await answerOf(page)
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it('follows what was measured outside limits', async () => {
    const page = await desk.open('quality', '/reach')
    const form = page.getByRole('form', { name: 'What was measured outside its limits' })
    await form.getByLabel('quantity').fill('pouring temperature')
    await form.getByLabel('lowest allowed').fill('1400')
    await form.getByLabel('from').fill('2026-04-11T00:00')
    await form.getByLabel('to').fill('2026-04-13T00:00')
    await form.getByRole('button', { name: 'Follow it' }).click()
    expect(await answerOf(page)).toMatch(/castings are affected|counts\.$/)
    expect(await page.title()).toContain('below 1,400')
  })

  it('reopens an answer by its number', async () => {
    const { reach } = await asked()
    const page = await desk.open('quality', `/answer?${new URLSearchParams({ id: reach.id })}`)
    expect(await answerOf(page)).toContain(
      `${reach.castings.toHold.toLocaleString('en')} must be held`,
    )
    expect(desk.complaints).toEqual([])
  })

  it('prints it with a code of its number', async () => {
    const page = await desk.open('quality', address)
    await answerOf(page)
    await page.locator('.on-paper svg').waitFor({ state: 'attached' })
    await page.emulateMedia({ media: 'print' })
    expect(await page.locator('.on-paper').isVisible()).toBe(true)
    expect(await page.getByRole('button', { name: 'Look' }).isVisible()).toBe(false)
    expect((await page.pdf({ format: 'A4' })).length).toBeGreaterThan(10_000)
  })

  it('is told when there is no such lot, and when nobody can be reached', async () => {
    const unknown = await desk.open('quality', '/reach?from=lot:NONE-1')
    expect(await answerOf(unknown)).toMatch(/NONE-1/)
    expect(await findingsIn(unknown)).toEqual([])
    const cut = await desk.open('quality', address)
    await answerOf(cut)
    await cut.context().setOffline(true)
    await cut.getByRole('button', { name: /^Hold these/ }).click()
    await cut.getByLabel('Reason, for colleagues').fill('x')
    await cut.getByRole('button', { name: 'Publish', exact: true }).click()
    await cut.getByText('Not sent. Telephone quality.').waitFor()
  })

  it('draws in the colours that the reader forces', async () => {
    const page = await desk.open('quality', address)
    await answerOf(page)
    await page.emulateMedia({ forcedColors: 'active', colorScheme: 'dark' })
    const inkOf = (selector: string, property: string) =>
      page.evaluate<string>(`getComputedStyle(document.querySelector('${selector}')).${property}`)
    const text = await inkOf('body', 'color')
    expect(text).not.toBe('rgb(32, 29, 26)')
    expect(await inkOf('.drawing .ruler', 'stroke')).toBe(text)
    expect(await inkOf('.drawing .solid', 'fill')).toBe(text)
    expect(await inkOf('.drawing text', 'fill')).toBe(text)
  })

  it('does not widen a narrow screen, and shows no ruler but its buttons', async () => {
    const page = await desk.open('quality', address, { width: 320, height: 700 })
    await answerOf(page)
    await page.getByRole('button', { name: 'looser' }).click()
    await page.getByText('castings are to hold, in').waitFor()
    const wide = await page.evaluate<number>('document.documentElement.scrollWidth')
    expect(wide).toBeLessThanOrEqual(320)
    expect(await findingsIn(page)).toEqual([])
  })

  it('keeps an analyst out', async () => {
    const page = await desk.open('analyst', address)
    await page.getByText(/does not belong to|belongs to/).waitFor()
  })
})
