export {
  isBookName,
  inTurn,
  memoryBook,
  memoryBooks,
  type Books,
  type NextText,
  type TextBook,
} from './books.ts';
export { fileBook, fileBooks, readIfThere, replaceFile } from './file-books.ts';
export { openJsonBook, type JsonBook, type JsonBookOptions } from './json-book.ts';
