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
  /** The brokers that hold the log; absent, it is in logFolder. */
  kafka?: KafkaSettings
  /** Of each topic; fixed when the log is made. On Kafka only "npm run topics" makes them more. */
  partitions: number
  /** Such as https://foundry.example/plant/main: the plant that reports without a source come from. */
  plantAddress?: string
  /** Its name: things of it go by kind:number alone. */
  plant: string
  /** Whose tokens count. */
  tokens: TokenSettings
  /** A file with the only questions that may be asked; absent, any may. */
  documentsFile?: string
  /** By which commands sign in to a house that others issue tokens for. */
  token?: string
  /** Names besides its own by which the house may be asked, such as that of its container. */
  names: readonly string[]
  /** Where the doors are that bring reports to the brokers, each as http://host:port. */
  doors: readonly string[]
  /** So long a stop may take before what is under way is broken off. Unit: s. */
  stopSeconds: number
}

export interface TokenSettings {
  /** Such as https://login.foundry.example; absent without keyFile, the house issues tokens itself. */
  issuer?: string
  /** A file with the public keys; absent, the issuer publishes them. */
  keyFile?: string
  audience: string
  /** Where a token says roles. */
  rolesClaim: string
  /** How long a token may count. Unit: h. */
  hours: number
}

export interface KafkaSettings {
  /** Each host:port. */
  brokers: readonly string[]
  login?: { user: string; password: string }
  tls: boolean
  /** Before the station in the name of each topic. */
  topicPrefix: string
  /** How many brokers keep each topic; absent, three where there are so many, else one. */
  copies?: number
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
  const kafka = kafkaFrom(given)
  const token = given('HEAT_TO_PAN_TOKEN')
  const documentsFile = given('HEAT_TO_PAN_DOCUMENTS')
  return Object.freeze({
    folder,
    logFolder: join(folder, 'log'),
    databaseFolder: join(folder, 'database'),
    host: given('HEAT_TO_PAN_HOST') ?? '127.0.0.1',
    port: wholeNumber('HEAT_TO_PAN_PORT', given('HEAT_TO_PAN_PORT') ?? '4000', 0, 65_535),
    ...(databaseUrl && { databaseUrl }),
    ...(kafka && { kafka }),
    partitions: wholeNumber(
      'HEAT_TO_PAN_PARTITIONS',
      given('HEAT_TO_PAN_PARTITIONS') ?? '4',
      1,
      256,
    ),
    ...(plantAddress && { plantAddress }),
    plant: plantAddress?.split('/').at(-1) ?? 'main',
    tokens: tokensFrom(given),
    ...(token && { token }),
    ...(documentsFile && { documentsFile }),
    names: listed(given('HEAT_TO_PAN_NAMES')),
    doors: doorsFrom(given('HEAT_TO_PAN_DOORS')),
    stopSeconds: wholeNumber(
      'HEAT_TO_PAN_STOP_SECONDS',
      given('HEAT_TO_PAN_STOP_SECONDS') ?? '20',
      1,
      600,
    ),
  })
}

function tokensFrom(given: (name: string) => string | undefined): TokenSettings {
  const issuer = given('HEAT_TO_PAN_ISSUER')
  const keyFile = given('HEAT_TO_PAN_KEY')
  const hours = given('HEAT_TO_PAN_TOKEN_HOURS') ?? '24'
  if (issuer && !/^(https:\/\/|http:\/\/(localhost|127\.0\.0\.1)\b|urn:)/.test(issuer))
    throw new Error('HEAT_TO_PAN_ISSUER must be like https://login.foundry.example')
  if (issuer?.startsWith('urn:') && !keyFile)
    throw new Error('HEAT_TO_PAN_ISSUER publishes no keys under a urn: name HEAT_TO_PAN_KEY too')
  return {
    ...(issuer && { issuer }),
    ...(keyFile && { keyFile }),
    audience: given('HEAT_TO_PAN_AUDIENCE') ?? 'heat-to-pan',
    rolesClaim: given('HEAT_TO_PAN_ROLES_CLAIM') ?? 'roles',
    hours: wholeNumber('HEAT_TO_PAN_TOKEN_HOURS', hours, 1, 8_760),
  }
}

function doorsFrom(text: string | undefined): string[] {
  const doors = listed(text)
  if (doors.every((each) => /^https?:\/\/[^/]+$/.test(each))) return doors
  throw new Error('HEAT_TO_PAN_DOORS must be like http://melt:4002,http://pour:4004')
}

function kafkaFrom(given: (name: string) => string | undefined): KafkaSettings | undefined {
  const brokers = listed(given('HEAT_TO_PAN_BROKERS'))
  if (brokers.length === 0) return undefined
  if (!brokers.every((each) => /^[^:]+:\d{1,5}$/.test(each)))
    throw new Error('HEAT_TO_PAN_BROKERS must be like kafka-1:9092,kafka-2:9092')
  const user = given('HEAT_TO_PAN_USER')
  const password = given('HEAT_TO_PAN_PASSWORD')
  if ((user === undefined) !== (password === undefined))
    throw new Error('HEAT_TO_PAN_USER and HEAT_TO_PAN_PASSWORD must be given together')
  const tls = given('HEAT_TO_PAN_TLS') ?? '0'
  if (!/^[01]$/.test(tls)) throw new Error(`HEAT_TO_PAN_TLS must be 0 or 1, and is "${tls}"`)
  const topicPrefix = given('HEAT_TO_PAN_TOPIC_PREFIX') ?? ''
  if (!/^[A-Za-z0-9._-]{0,100}$/.test(topicPrefix))
    throw new Error('HEAT_TO_PAN_TOPIC_PREFIX may have letters, digits, dots, dashes and lines')
  const copies = given('HEAT_TO_PAN_COPIES')
  return {
    brokers,
    ...(user && password && { login: { user, password } }),
    tls: tls === '1',
    topicPrefix,
    ...(copies && { copies: wholeNumber('HEAT_TO_PAN_COPIES', copies, 1, 9) }),
  }
}

/** What stands between commas. */
function listed(text = ''): string[] {
  return text.split(',').flatMap((part) => part.trim() || [])
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
