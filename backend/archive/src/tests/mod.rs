mod damage;
mod data;
mod kill;
mod paging;
mod property;
mod ranking;
