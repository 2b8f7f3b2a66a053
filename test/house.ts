// A whole house in a folder of its own, with an invented foundry that has worked in it.
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Role } from '../services/access/who.ts'
import { type House, openHouse } from '../services/house.ts'
import { PLANT } from '../services/plant/names.ts'
import { type Settings as PlantSettings, simulate } from '../services/plant/plant.ts'
import type { Truth } from '../services/plant/truth.ts'
import { settingsFrom } from '../services/settings.ts'

// biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
type Answer = any

export class WorkedHouse implements AsyncDisposable {
  readonly house: House
  readonly truth: Truth
  readonly #folder: string

  private constructor(house: House, truth: Truth, folder: string) {
    this.house = house
    this.truth = truth
    this.#folder = folder
  }

  static async open(plant: PlantSettings): Promise<WorkedHouse> {
    const folder = await mkdtemp(join(tmpdir(), 'house-'))
    const settings = settingsFrom({
      HEAT_TO_PAN_DATA: folder,
      HEAT_TO_PAN_PORT: '0',
      HEAT_TO_PAN_PLANT: PLANT,
    })
    const house = await openHouse({ settings, demo: true, tell: () => undefined })
    const { reports, truth } = simulate(plant)
    const worked = new WorkedHouse(house, truth, folder)
    await worked.say(reports.map(({ body }) => body))
    return worked
  }

  /** Takes reports in and waits until they can be asked for; gives what became of each. */
  async say(bodies: readonly unknown[]): Promise<string[]> {
    const outcomes: string[] = []
    for (let i = 0; i < bodies.length; i += 250) {
      const batch = bodies
        .slice(i, i + 250)
        .map((body) => Buffer.from(typeof body === 'string' ? body : JSON.stringify(body)))
      for (const { outcome } of await this.house.door.take(batch, { decisions: true }))
        outcomes.push(outcome)
    }
    await this.house.settled()
    return outcomes
  }

  /** The data of an answer over HTTP; an error of any field fails the test. */
  async ask(query: string, variables: object = {}): Promise<Answer> {
    const { data, errors } = await this.post(query, variables)
    if (errors) throw new Error(errors.map(({ message }) => message).join('\n'))
    return data
  }

  async post(
    query: string,
    variables: object = {},
    role: Role = 'quality',
  ): Promise<{ data?: Answer; errors?: { message: string; extensions: { code: string } }[] }> {
    const response = await fetch(`${this.house.address}/graphql`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', ...this.as(role) },
      body: JSON.stringify({ query, variables }),
    })
    return (await response.json()) as Answer
  }

  /** The header by which one of a role signs in. */
  as(role: Role): { authorization: string } {
    return { authorization: `Bearer ${this.house.tokens.get(role)}` }
  }

  async [Symbol.asyncDispose](): Promise<void> {
    await this.house[Symbol.asyncDispose]()
    await rm(this.#folder, { recursive: true, force: true })
  }
}
