import { expect, test } from 'vitest'
import { settingsFrom } from '../services/settings.ts'

test('with nothing set, everything is in ./data and nobody outside this machine is answered', () => {
  const settings = settingsFrom({})
  expect(settings).toMatchObject({
    folder: './data',
    logFolder: 'data/log',
    databaseFolder: 'data/database',
    host: '127.0.0.1',
    port: 4000,
    partitions: 4,
  })
  expect(settings.databaseUrl).toBeUndefined()
  expect(settings.kafka).toBeUndefined()
  expect(settings.plantAddress).toBeUndefined()
})

test('what is set is taken, and blank counts as not set', () => {
  const settings = settingsFrom({
    HEAT_TO_PAN_DATA: '/var/foundry',
    HEAT_TO_PAN_PORT: '0',
    HEAT_TO_PAN_DATABASE: 'postgres://localhost/foundry',
    HEAT_TO_PAN_PLANT: 'https://foundry.example/plant/main',
    HEAT_TO_PAN_HOST: ' ',
    HEAT_TO_PAN_NAMES: 'melt, melt.foundry.example,',
  })
  expect(settings).toMatchObject({
    names: ['melt', 'melt.foundry.example'],
    logFolder: '/var/foundry/log',
    port: 0,
    host: '127.0.0.1',
    databaseUrl: 'postgres://localhost/foundry',
    plantAddress: 'https://foundry.example/plant/main',
  })
  expect(Object.isFrozen(settings)).toBe(true)
})

test('brokers are taken with who we are there, and how we come', () => {
  const HEAT_TO_PAN_BROKERS = 'kafka-1:9092, kafka-2:9092'
  expect(settingsFrom({ HEAT_TO_PAN_BROKERS }).kafka).toEqual({
    brokers: ['kafka-1:9092', 'kafka-2:9092'],
    tls: false,
    topicPrefix: '',
  })
  const more = {
    HEAT_TO_PAN_USER: 'melt',
    HEAT_TO_PAN_PASSWORD: 'secret',
    HEAT_TO_PAN_TLS: '1',
    HEAT_TO_PAN_TOPIC_PREFIX: 'foundry.',
    HEAT_TO_PAN_COPIES: '3',
  }
  expect(settingsFrom({ HEAT_TO_PAN_BROKERS, ...more }).kafka).toEqual({
    brokers: ['kafka-1:9092', 'kafka-2:9092'],
    login: { user: 'melt', password: 'secret' },
    tls: true,
    topicPrefix: 'foundry.',
    copies: 3,
  })
})

const BROKERS = { HEAT_TO_PAN_BROKERS: 'kafka:9092' }

test.each([
  [{ HEAT_TO_PAN_BROKERS: 'kafka' }, 'HEAT_TO_PAN_BROKERS must be like kafka-1:9092'],
  [{ ...BROKERS, HEAT_TO_PAN_USER: 'melt' }, 'must be given together'],
  [{ ...BROKERS, HEAT_TO_PAN_TLS: 'yes' }, 'HEAT_TO_PAN_TLS must be 0 or 1'],
  [{ ...BROKERS, HEAT_TO_PAN_TOPIC_PREFIX: 'a/b' }, 'HEAT_TO_PAN_TOPIC_PREFIX may have'],
  [{ HEAT_TO_PAN_PORT: 'http' }, 'HEAT_TO_PAN_PORT must be a whole number from 0 to 65535'],
  [{ HEAT_TO_PAN_PORT: '70000' }, 'HEAT_TO_PAN_PORT must be a whole number from 0 to 65535'],
  [{ HEAT_TO_PAN_PARTITIONS: '0' }, 'HEAT_TO_PAN_PARTITIONS must be a whole number from 1'],
  [{ HEAT_TO_PAN_DATABASE: 'mysql://x' }, 'HEAT_TO_PAN_DATABASE must begin with postgres://'],
  [{ HEAT_TO_PAN_STOP_SECONDS: '0' }, 'HEAT_TO_PAN_STOP_SECONDS must be a whole number from 1'],
  [{ HEAT_TO_PAN_PLANT: 'main' }, 'HEAT_TO_PAN_PLANT must be like https://'],
])('a setting that cannot be so is refused by its name: %o', (environment, sentence) => {
  expect(() => settingsFrom(environment)).toThrow(sentence)
})
