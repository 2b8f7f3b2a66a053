// All settings of the house, read once: nothing else looks at the environment.
import { join } from 'node:path'

export interface Settings {
  /** Where everything is kept; one process holds it at a time. */
  folder: string
  logFolder: string
  databaseFolder: string
  host: string
  port: number
  /** A PostgreSQL; absent, the embedded database in databaseFolder is used. */
  databaseUrl?: string
  /** Of each topic; fixed when the log is made. */
  partitions: number
  /** Such as https://foundry.example/plant/main: the plant that reports without a source come from. */
  plantAddress?: string
  /** Its name: things of it go by kind:number alone. */
  plant: string
}

/** Reads the settings. Throws one sentence that names the variable and what it may be. */
export function settingsFrom(environment: Readonly<Record<string, string | undefined>>): Settings {
  const given = (name: string) => environment[name]?.trim() || undefined
  const folder = given('HEAT_TO_PAN_DATA') ?? './data'
  const databaseUrl = given('HEAT_TO_PAN_DATABASE')
  const plantAddress = given('HEAT_TO_PAN_PLANT')
  if (databaseUrl && !/^postgres(ql)?:\/\//.test(databaseUrl))
    throw new Error('HEAT_TO_PAN_DATABASE must begin with postgres://')
  if (plantAddress && !/^https:\/\/[^/]+\/plant\/[a-z0-9-]{1,20}$/.test(plantAddress))
    throw new Error('HEAT_TO_PAN_PLANT must be like https://foundry.example/plant/main')
  return Object.freeze({
    folder,
    logFolder: join(folder, 'log'),
    databaseFolder: join(folder, 'database'),
    host: given('HEAT_TO_PAN_HOST') ?? '127.0.0.1',
    port: wholeNumber('HEAT_TO_PAN_PORT', given('HEAT_TO_PAN_PORT') ?? '4000', 0, 65_535),
    ...(databaseUrl && { databaseUrl }),
    partitions: wholeNumber(
      'HEAT_TO_PAN_PARTITIONS',
      given('HEAT_TO_PAN_PARTITIONS') ?? '4',
      1,
      256,
    ),
    ...(plantAddress && { plantAddress }),
    plant: plantAddress?.split('/').at(-1) ?? 'main',
  })
}

export const settings: Settings = settingsFrom(process.env)

/** The same where the environment leaves something unsaid. */
export function settingsWith(defaults: Readonly<Record<string, string>>): Settings {
  return settingsFrom({ ...defaults, ...process.env })
}

function wholeNumber(name: string, text: string, least: number, most: number): number {
  const number = Number(text)
  if (/^\d+$/.test(text) && number >= least && number <= most) return number
  throw new Error(`${name} must be a whole number from ${least} to ${most}, and is "${text}"`)
}
