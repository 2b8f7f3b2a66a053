// The one home of the Prisma client: typed reads of single rows. It shares the pool with everything
// else, so on the embedded database never ask it inside a transaction of that pool.
import { PrismaPg } from '@prisma/adapter-pg'
import { PrismaClient } from '../../prisma/client/client.ts'

export function prismaOver(
  pool: ConstructorParameters<typeof PrismaPg>[0],
  schema?: string,
): PrismaClient {
  return new PrismaClient({ adapter: new PrismaPg(pool, schema === undefined ? {} : { schema }) })
}
