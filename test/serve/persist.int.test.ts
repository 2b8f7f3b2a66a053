import { expect, test, vi } from 'vitest'
import { LogError } from '../../services/log/log-error.ts'
import { persist } from '../../services/serve/persist.ts'

const refusedConnection = () => Object.assign(new Error('connect'), { code: 'ECONNREFUSED' })
const opened = { close: async () => undefined }
const running = () => new AbortController().signal

test('what is away is opened when it is back, and why it is waited for is told', async () => {
  const faults = [
    refusedConnection(),
    new AggregateError([refusedConnection(), refusedConnection()]),
    new LogError('LOG_AWAY', 'The brokers gave no answer.'),
    Object.assign(new Error('the database system is starting up'), { code: '57P03' }),
  ]
  const told: string[] = []
  const open = async () => {
    const fault = faults.shift()
    if (fault) throw fault
    return opened
  }
  expect(await persist(open, running(), (why) => told.push(why))).toBe(opened)
  expect(told).toHaveLength(4)
  expect(told.every((why) => why.length > 0)).toBe(true)
}, 30_000)

test.each([
  new LogError('LOG_DIVERGED', 'Not the log it has read.'),
  new LogError('LOG_FORBIDDEN', 'Not let in.'),
  Object.assign(new Error('password authentication failed'), { code: '28P01' }),
  new TypeError('a fault of ours'),
])('what waiting does not cure is thrown: %s', async (fault) => {
  const open = () => Promise.reject(fault)
  await expect(persist(open, running(), () => undefined)).rejects.toBe(fault)
})

test('when it is stopped nothing is waited for, and what opens too late is closed', async () => {
  const stop = new AbortController()
  const late = Promise.withResolvers<typeof opened>()
  const close = vi.fn(async () => undefined)
  const persisting = persist(
    () => late.promise,
    stop.signal,
    () => undefined,
  )
  stop.abort()
  expect(await persisting).toBeUndefined()
  late.resolve({ close })
  await vi.waitFor(() => expect(close).toHaveBeenCalledOnce())
})
