import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { findingsIn } from './accessible.ts'
import { browserProgram, DeskBrowser } from './browser.ts'

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
    await page.getByText('Write the complaint down all the same.', { exact: true }).waitFor()
    expect(await findingsIn(page)).toEqual([])
  })
})
