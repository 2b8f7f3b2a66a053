import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

describe.skipIf(!browserProgram)('Whoever holds something', () => {
  let desk: DeskBrowser
  let pack: string
  let mark: string
  let lot: string

  beforeAll(async () => {
    desk = await DeskBrowser.start()
    const asked = await desk.ask<{
      packs: { edges: { node: { id: string; marks: string[] } }[] }
      lots: { edges: { node: { id: string } }[] }
    }>(
      '{ packs(first: 20) { edges { node { id marks } } } lots(first: 1) { edges { node { id } } } }',
    )
    const { node } = asked.packs.edges.find((edge) => edge.node.marks.length > 0)!
    pack = node.id.slice('pack:'.length)
    mark = node.marks[0]!
    lot = asked.lots.edges[0]!.node.id.slice('lot:'.length)
  })
  afterAll(() => desk[Symbol.asyncDispose]())
  beforeEach(() => {
    desk.complaints = []
  })
  afterEach(async () => {
    expect(desk.complaints).toEqual([])
  })

  it.each([
    ['quality', 'Where did a lot or heat go?'],
    ['analyst', 'Do defects follow what was charged?'],
    ['service', 'Whom am I to call?'],
    ['admin', 'What could not be read?'],
  ] as const)('as %s finds what may be asked without holding anything', async (role, question) => {
    const page = await desk.open(role, '/')
    await page.getByRole('link', { name: question }).waitFor()
    expect(await page.title()).toBe('What do you hold?')
    expect(await findingsIn(page)).toEqual([])
  })

  it('is whoever opened the desk last, and not who sat there before', async () => {
    const page = await desk.open('quality', '/')
    await page.getByRole('link', { name: 'Where did a lot or heat go?' }).waitFor()
    await desk.goTo(page, 'service', '/')
    await page.getByRole('link', { name: 'Whom am I to call?' }).waitFor()
    await page.reload()
    await page.getByRole('link', { name: 'Whom am I to call?' }).waitFor()
    expect(await page.getByRole('link', { name: 'Where did a lot or heat go?' }).count()).toBe(0)
  })

  it('comes to the field first by keyboard, and a rep with one mark at once to its answer', async () => {
    const page = await desk.open('service', '/')
    await page.getByRole('link', { name: 'Whom am I to call?' }).waitFor()
    await page.keyboard.press('Tab')
    // As fast as a scanner: signs sent one by one from here would come too slowly on a busy machine.
    await page.evaluate((signs) => {
      const { document, KeyboardEvent } = globalThis as unknown as {
        document: EventTarget
        KeyboardEvent: new (type: string, how: object) => Event
      }
      for (const key of [...signs, 'Enter'])
        document.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true }))
    }, mark)
    await page.waitForURL(/\/inquiry\?mark=/)
    await page.getByRole('heading', { level: 2 }).waitFor()
    await page.goBack()
    await page.getByText('What do you hold?').waitFor()
  })

  it('is shown each thing of a pasted report, and the text stays out of the address', async () => {
    const page = await desk.open('quality', '/')
    await page.getByLabel('In hand').focus()
    const text = `Line 2, night shift:\npack ${pack} blistered,\nlot ${lot} looked wet.`
    await page.evaluate(`
      const data = new DataTransfer()
      data.setData('text/plain', ${JSON.stringify(text)})
      document.activeElement.dispatchEvent(
        new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }),
      )`)
    const held = page.getByLabel('What you hold')
    await held.waitFor()
    expect(await held.textContent()).toBe(text)
    expect(await held.getByRole('link').allTextContents()).toEqual(
      expect.arrayContaining([expect.stringContaining(pack), expect.stringContaining(lot)]),
    )
    await page.getByRole('link', { name: new RegExp(`Where did lot ${lot}.* go`) }).waitFor()
    expect(page.url()).not.toContain(lot)
    expect(await findingsIn(page)).toEqual([])
    await page.reload()
    await held.waitFor()
  })

  it('is told what was tried when it names nothing', async () => {
    const page = await desk.open('quality', '/?hand=qqqqqq')
    await page.getByText('Tried: marks of packs').last().waitFor()
    expect(await findingsIn(page)).toEqual([])
  })

  it('is caught by a scanner that types, wherever the focus is', async () => {
    const page = await desk.open('service', '/')
    await page.getByRole('link', { name: 'Whom am I to call?' }).waitFor()
    // As fast as a scanner is, however busy the machine: the signs come from within the page.
    await page.evaluate(`
      for (const key of [...${JSON.stringify(mark)}, 'Enter'])
        document.activeElement.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true }))`)
    await page.waitForURL(/\/inquiry\?mark=/)
  })

  it('keeps what was typed when signed out, and goes on after signing in', async () => {
    const address = `/inquiry?${new URLSearchParams({ mark })}`
    const page = await desk.open('service', address, { isAlone: true })
    await page.getByLabel('In their words').fill('It flakes after a week.')
    await page.context().clearCookies()
    await page.getByRole('button', { name: 'Write it down' }).click()
    const form = page.locator('.complaint')
    await form.getByText('Signed out. What you typed is kept here.').waitFor()
    expect(await page.getByLabel('In their words').inputValue()).toBe('It flakes after a week.')
    await page.context().close()
    desk.complaints = []
  })

  it('is told how old a page is that has no connection', async () => {
    const page = await desk.open('quality', '/', { isAlone: true })
    await page.getByRole('link', { name: 'What waits for me?' }).waitFor()
    await page.context().setOffline(true)
    await page.getByLabel('In hand').fill('PK')
    await page.keyboard.press('Enter')
    await page.getByText('The house cannot be reached.').waitFor()
    await page.context().close()
    desk.complaints = []
  })

  it('reads in a narrow window without scrolling sideways', async () => {
    const page = await desk.open('quality', '/', { width: 320 })
    await page.getByRole('link', { name: 'What waits for me?' }).waitFor()
    expect(
      await page.evaluate('document.documentElement.scrollWidth - window.innerWidth'),
    ).toBeLessThanOrEqual(0)
  })
})
