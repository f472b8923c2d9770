//! Reading the contract.
