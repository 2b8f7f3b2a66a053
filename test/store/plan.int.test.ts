import { readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { missingSteps } from '../../prisma/plan.ts'

it('the migrations make what schema.prisma says, and the planner tells the one column more', async () => {
  const path = join(import.meta.dirname, '../../prisma/schema.prisma')
  const schema = await readFile(path, 'utf8')
  const more = schema.replace('model Position {', 'model Position {\n  spot String?')
  const steps = await missingSteps(more)
  expect(steps.match(/^[A-Z].*/gm)).toEqual(['ALTER TABLE "position" ADD COLUMN     "spot" TEXT;'])
})
