import { randomUUID } from 'node:crypto'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { findingsIn } from './accessible.ts'
import { DeskBrowser } from './browser.ts'
import { browserProgram } from './chromium.ts'

describe.skipIf(!browserProgram)('Somebody with gloves before a stack', () => {
  let desk: DeskBrowser
  let hold: string
  let packs: string[]

  beforeAll(async () => {
    desk = await DeskBrowser.start()
    const asked = await desk.ask<{
      packs: { edges: { node: { id: string; places: { place: string }[] } }[] }
    }>('{ packs(first: 200) { edges { node { id places { place } } } } }')
    packs = asked.packs.edges
      .filter(({ node }) => node.places.every(({ place }) => place === 'IN_STOCK'))
      .map(({ node }) => node.id)
      .slice(0, 3)
    const placed = await desk.ask<{ placeHold: { matter: string } }>(
      'mutation ($input: HoldInput!) { placeHold(input: $input) { ... on Published { matter } } }',
      {
        input: {
          ...{ reportId: randomUUID(), reason: 'A stack to look at.' },
          of: { things: packs.map((of) => ({ of })) },
        },
      },
    )
    hold = placed.placeHold.matter
    await vi.waitFor(async () => expect(await packed()).toHaveLength(packs.length), 20_000)
  })
  afterAll(() => desk[Symbol.asyncDispose]())

  it('counts without a network, and all of it is sent once there is one', async () => {
    const page = await desk.open('quality', `/floor?of=${hold}`, { width: 390, isAlone: true })
    await page.getByText(`0 of ${packs.length} packs found`).waitFor()
    expect(await findingsIn(page)).toEqual([])
    const sizes = await page
      .locator('.keys button')
      .evaluateAll((keys) =>
        keys.map((key) => (key as { offsetHeight?: number }).offsetHeight ?? 0),
      )
    expect(Math.min(...sizes)).toBeGreaterThanOrEqual(72)
    // The shell is kept once the worker answers for it.
    await page.evaluate('navigator.serviceWorker.ready.then(() => undefined)')
    await page.waitForFunction("caches.open('desk-shell').then((c) => c.match('/')).then(Boolean)")
    await page.context().setOffline(true)
    await page.getByRole('button', { name: /^Found all/ }).click()
    await page.getByText(`1 of ${packs.length} packs found, 1 not sent yet`).waitFor()
    await page.reload()
    await page.getByText(`1 of ${packs.length} packs found, 1 not sent yet`).waitFor()
    await page.getByRole('button', { name: /^Found all/ }).click()
    await page.getByText(`2 of ${packs.length} packs found, 2 not sent yet`).waitFor()
    // A report may have gone out as the network went, with its answer lost: sent again it counts once.
    await page.context().setOffline(false)
    await page.getByText(`2 of ${packs.length} packs found`, { exact: true }).waitFor()
    const found = async () => (await packed()).filter(({ disposed }) => disposed > 0)
    await expect.poll(async () => (await found()).length).toBe(2)
    for (const { castings, disposed } of await found()) expect(disposed).toBe(castings)
  })

  it('keeps what is not where it was told, and says so on the list', async () => {
    const page = await desk.open('quality', `/floor?of=${hold}`, { width: 390, isAlone: true })
    await page.getByRole('button', { name: 'Not here' }).click()
    await page.getByText(', 1 not where told').waitFor()
    await page.waitForFunction(
      `new Promise((done) => { const open = indexedDB.open('keyval-store'); open.onsuccess = () => {
        const get = open.result.transaction('keyval').objectStore('keyval').get('floor-not-here ${hold}')
        get.onsuccess = () => { open.result.close(); done(Object.keys(get.result ?? {}).length === 1) } } })`,
    )
    await page.reload()
    await page.getByText(', 1 not where told').waitFor()
    await page.getByText(/^Not here, said/).waitFor()
    expect(await findingsIn(page)).toEqual([])
  })

  it('is told to leave what is not on the list', async () => {
    const page = await desk.open('quality', `/floor?of=${hold}`, { width: 390 })
    await page.getByLabel('Scan').fill('K99-9999-Z9')
    await page.getByRole('button', { name: 'Find it' }).click()
    await page.getByText('NOT ON THE LIST: leave it', { exact: true }).waitFor()
    await page.locator('.stray', { hasText: 'No pack or pan is known by it.' }).waitFor()
    expect(await findingsIn(page)).toEqual([])
    await page.getByLabel('Scan').fill(packs[2]!.slice('pack:'.length))
    await page.getByRole('button', { name: 'Find it' }).click()
    await page
      .getByText('NOT ON THE LIST: leave it', { exact: true })
      .waitFor({ state: 'detached' })
  })

  async function packed(): Promise<{ id: string; castings: number; disposed: number }[]> {
    const { node } = await desk.ask<{
      node: {
        covers: {
          edges: { node: { id: string; castings: { value: number } }; disposed: number }[]
        }
      } | null
    }>(
      `query ($id: ID!) {
        node(id: $id) {
          ... on Hold { covers { edges { disposed node { ... on Pack { id castings { value } } } } } }
        }
      }`,
      { id: hold },
    )
    const edges = node?.covers.edges ?? []
    return edges.map(({ node, disposed }) => ({
      ...{ id: node.id, castings: Math.round(node.castings.value), disposed },
    }))
  }
})
