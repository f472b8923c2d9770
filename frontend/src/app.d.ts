declare global {
  namespace App {
    interface Error {
      message: string;
      /** What is safe and what to do. */
      then?: string;
      /** What the page is about does not exist, or is not for the asker to see. */
      missing?: boolean;
    }
  }
}

export {};
