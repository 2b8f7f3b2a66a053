// One house with an invented foundry in it for all tests of pages: opened once, since that takes most of the time.
import type { TestProject } from 'vitest/node'
import type { Role } from '../../services/access/who.ts'
import { buildDesk } from '../../services/desk/make/build.ts'
import { DEMO } from '../../services/plant/work.ts'
import { WorkedHouse } from '../house.ts'
import { browserProgram, whyNoBrowser } from './chromium.ts'
import { shippedLotOf } from './shipped-lot.ts'

declare module 'vitest' {
  interface ProvidedContext {
    address: string
    tokens: [Role, string][]
    /** A lot that makes pinholes. */
    badLot: string
    /** A lot that much of what was shipped is of. */
    shippedLot: string
  }
}

export async function setup(project: TestProject): Promise<(() => Promise<void>) | undefined> {
  if (!browserProgram) {
    console.warn(`The pages of the desk are not tested: ${whyNoBrowser}.`)
    return undefined
  }
  await buildDesk()
  const worked = await WorkedHouse.open({ ...DEMO, days: 1 })
  project.provide('address', worked.house.address)
  project.provide('tokens', [...worked.house.tokens])
  project.provide('badLot', worked.truth.cause?.lot ?? '')
  project.provide('shippedLot', await shippedLotOf(worked))
  return () => worked[Symbol.asyncDispose]()
}
