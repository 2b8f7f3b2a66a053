import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

describe.skipIf(!browserProgram)('Somebody who asks what waits', () => {
  let desk: DeskBrowser

  beforeAll(async () => {
    desk = await DeskBrowser.start()
  })
  afterAll(() => desk[Symbol.asyncDispose]())

  it('reads each as a sentence with a time, and the question that settles it', async () => {
    const { waiting } = await desk.ask<{
      waiting: { totalCount: number; edges: { node: { settledBy: { sentence: string } } }[] }
    }>('{ waiting(first: 1) { totalCount edges { node { settledBy { sentence } } } } }')
    expect(waiting.totalCount).toBeGreaterThan(0)
    const page = await desk.open('quality', '/waiting')
    await page.getByRole('heading', { level: 2, name: /things? waits? for you/ }).waitFor()
    await page.getByRole('link', { name: waiting.edges[0]!.node.settledBy.sentence }).waitFor()
    expect(await findingsIn(page)).toEqual([])
    expect(desk.complaints).toEqual([])
  })

  it.each([
    ['TOO_OFTEN', 'Many are asking; again in 5 s.'],
    ['INTERNAL', 'The desk could not answer (fault 7F3A0000). Nothing was changed.'],
    ['FORBIDDEN', 'This is not yours to ask.'],
  ])('is told that there is no answer: %s', async (code, words) => {
    const page = await desk.open('analyst', '/waiting', {
      prepare: (page) =>
        page.route('**/graphql', async (route) => {
          const isWaiting = route.request().postData()?.includes('"Waiting"')
          if (!isWaiting) return route.continue()
          const errors = [{ message: 'no', extensions: { code, errorId: '7F3A0000-1' } }]
          return route.fulfill({ json: { errors } })
        }),
    })
    await page.getByText(words).waitFor()
    expect(await findingsIn(page)).toEqual([])
  })

  it('waits quietly, then is told that it is worked out', async () => {
    const page = await desk.open('analyst', '/waiting', {
      prepare: (page) => page.route('**/graphql', () => undefined),
    })
    await page.getByText('Working it out').waitFor()
    await page.getByRole('button', { name: 'Stop' }).waitFor()
  })
})
