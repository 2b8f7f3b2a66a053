import { join } from 'node:path'
import { expect, test } from 'vitest'
import { openAccess } from '../../services/access/access.ts'
import { runToken } from '../../services/access/token-command.ts'
import { settingsFrom } from '../../services/settings.ts'
import { newFolder } from '../stations/folders.ts'

test('makes keys, and tokens that a house with the public one lets in', async () => {
  const folder = await newFolder()
  expect(await runToken([folder])).toContain(
    `HEAT_TO_PAN_KEY=${join(folder, 'public', 'key.json')}`,
  )
  const said = ['--role', 'station', '--station', 'melt', '--subject', 'f1', '--plant', 'north']
  const token = await runToken([folder, ...said])
  const { whoSends } = await openAccess(
    settingsFrom({
      ...{ HEAT_TO_PAN_KEY: join(folder, 'public', 'key.json'), HEAT_TO_PAN_HOST: '0.0.0.0' },
      HEAT_TO_PAN_PLANT: 'https://foundry.example/plant/north',
    }),
    () => undefined,
  )
  const headers = { authorization: `Bearer ${token}` }
  expect(await whoSends({ headers, rawHeaders: [] })).toMatchObject({
    ...{ subject: 'f1', roles: new Set(['station']), stations: new Set(['melt']) },
  })
})

test.each([
  [[], 'npm run token -- FOLDER'],
  [['--role', 'boss', '--subject', 'f1'], 'There is no role boss. Name some of quality'],
  [['--role', 'station', '--station', 'quality'], 'There is no station quality.'],
  [['--role', 'admin'], 'Say whose token it is: --subject NAME'],
  [['--role', 'admin', '--subject', 'f1', '--hours', '0'], '--hours must lie'],
])('says what is missing: %j', async (words, sentence) => {
  const given = words.length > 0 ? [await newFolder(), ...words] : []
  await expect(runToken(given)).rejects.toThrow(sentence)
})
