// Proves     books in memory keep the port's promises
// Published  none
// Tolerance  exact
import { booksContract } from './books.contract.ts';
import { memoryBooks } from './index.ts';

booksContract('memory', async () => {
  const books = memoryBooks();
  return { books, again: async () => books };
});
