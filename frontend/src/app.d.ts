declare global {
  namespace App {
    interface Error {
      message: string;
      /** What is safe and what to do. */
      then?: string;
    }
  }
}

export {};
