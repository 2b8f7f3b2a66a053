import { expect, test } from 'vitest'
import { noteReadAgain, noteStopped } from '../../services/store/stopped.ts'
import { Asking } from './asking.ts'

test('no answer is whole while a partition stands still', async () => {
  await using asking = await Asking.start()
  const { pool } = asking.record.store
  const place = { topic: 'melt', partition: 0 }
  const reportsIn = async () => (await asking.ask('{ reportsIn { verdict sentence } }')).reportsIn
  expect(await reportsIn()).toMatchObject({ verdict: 'WHOLE' })
  await noteStopped(pool, { ...place, projection: 'test' }, 'LOG_DIVERGED')
  expect(await reportsIn()).toEqual({
    verdict: 'WAITING',
    sentence:
      'Not all reports are in: how many are on their way is not known, nothing more of melt/0 is taken in (LOG_DIVERGED).',
  })
  await noteReadAgain(pool, place)
  expect(await reportsIn()).toMatchObject({ verdict: 'WHOLE' })
})
