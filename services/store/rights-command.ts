// npm run rights    makes roles in PostgreSQL, brings the tables up to date, and grants each role its part
import { settings } from '../settings.ts'
import { recordPlace } from './place.ts'
import { DUTIES, grantRights, roleOf } from './rights.ts'

try {
  const place = recordPlace(settings)
  if (!('url' in place)) throw new Error('Name a PostgreSQL first: set HEAT_TO_PAN_DATABASE.')
  const applied = await grantRights(place)
  if (applied.length > 0) console.log(`Tables brought up to date: ${applied.join(', ')}.`)
  console.log(
    `Roles that logins may be put into: ${DUTIES.map((duty) => roleOf(duty)).join(', ')}.`,
  )
} catch (error) {
  console.error(error instanceof Error ? error.message : error)
  process.exitCode = 1
}
