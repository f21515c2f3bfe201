#include "tread_facts.hpp"

#include <algorithm>

namespace wheelend {

namespace {

void keep_lower(std::optional<Cell>& kept, const Cell& cell) {
  if (!kept || less(cell, *kept)) {
    kept = cell;
  }
}

void keep_higher(std::optional<Cell>& kept, const Cell& cell) {
  if (!kept || less(*kept, cell)) {
    kept = cell;
  }
}

}  // namespace

TreadFacts TreadReader::of(const Inspection& inspection) {
  TreadFacts facts;
  lowest_round_.assign(readings_.grooves.size(), std::nullopt);
  std::int32_t across = -1;
  for (std::int64_t i = inspection.first; i < inspection.last;) {
    const std::int32_t place = readings_.place_at(row_at(i));
    grooves_.assign(readings_.grooves.size(), std::nullopt);
    bars_ = 0;
    bool any = false;
    std::int64_t j = i;
    for (; j < inspection.last && readings_.place_at(row_at(j)) == place; ++j) {
      any = add_row(static_cast<std::int64_t>(row_at(j)), place, facts) || any;
      across = std::max(across, readings_.across_at(row_at(j)));
    }
    if (any) {
      add_place(facts);
    }
    i = j;
  }
  std::sort(facts.pair_by_place.begin(), facts.pair_by_place.end(), less);
  std::sort(facts.lowest_by_place.begin(), facts.lowest_by_place.end(), less);
  if (facts.read && !facts.lowest) {
    facts.notes |= bit(Note::none_admissible);
    facts.notes &= ~(bit(Note::some_inadmissible) | bit(Note::some_without_bar));
  }
  facts.read = facts.read && facts.lowest_of_all.has_value();
  for (const std::optional<Cell>& groove : lowest_round_) {
    if (groove) {
      keep_higher(facts.best_groove, *groove);
    }
  }
  if (across >= 0) {
    add_bands(across, facts);
  }
  return facts;
}

// Puts the admissible grooves of a row into grooves_; two rows of one place keep the lower depth.
bool TreadReader::add_row(std::int64_t row, std::int32_t place, TreadFacts& facts) {
  const auto r = static_cast<std::size_t>(row);
  bool any = false;
  bars_ |= readings_.barred.empty() ? ~std::uint64_t{0} : readings_.barred[r];
  for (std::size_t g = 0; g < readings_.grooves.size(); ++g) {
    Cell cell = cell_of(readings_.grooves[g], row);
    if (cell.missing()) {
      continue;
    }
    facts.read = true;
    if (!readings_.is_admissible(r, g)) {
      facts.notes |= bit(Note::some_inadmissible);
      continue;
    }
    cell.groove = static_cast<std::int8_t>(g);
    cell.place = place;
    keep_lower(facts.lowest_of_all, cell);
    if (!readings_.has_bar(r, g)) {
      facts.notes |= bit(Note::some_without_bar);
      continue;
    }
    keep_lower(grooves_[g], cell);
    any = true;
  }
  if ((readings_.conflict_at(r) & conflict_depth) != 0) {
    facts.notes |= bit(Note::lower_of_two);
  }
  return any;
}

// Lowest groove and lowest adjacent pair of one place. Grooves without an indicator do not count as grooves
// at all, so they do not part two that have one; a groove that has one and was not read does.
void TreadReader::add_place(TreadFacts& facts) {
  std::optional<Cell> lowest_pair, lowest_here;
  const std::optional<Cell>* before = nullptr;
  for (std::size_t g = 0; g < grooves_.size(); ++g) {
    const std::optional<Cell>& here = grooves_[g];
    if (here) {
      keep_lower(facts.lowest, *here);
      keep_lower(lowest_here, *here);
      keep_lower(lowest_round_[g], *here);
    }
    if (here && before != nullptr && *before) {
      keep_lower(lowest_pair, less(*here, **before) ? **before : *here);
    }
    if (here || counts_at_place(g)) {
      before = &here;
    }
  }
  if (lowest_here) {
    facts.lowest_by_place.push_back(*lowest_here);
  }
  if (lowest_pair) {
    facts.pair_by_place.push_back(*lowest_pair);
  }
}

// Whether a groove that was not read still lies between its neighbours: it does unless it carries no
// indicator.
bool TreadReader::counts_at_place(std::size_t g) const { return ((bars_ >> g) & 1U) != 0; }

// Of all bands these hold the fewest grooves: one begins at the outer edge, others just beyond a groove,
// which they leave out, and others end at one.
void TreadReader::add_bands(std::int32_t across, TreadFacts& facts) const {
  constexpr double breadth = 75.0;  // percent: "at least three quarters of the breadth of the tread"
  constexpr double whole = 100.0;
  const std::vector<double>& at = readings_.across_sets[static_cast<std::size_t>(across)];
  for (std::size_t g = 0; g < lowest_round_.size(); ++g) {
    if (lowest_round_[g] && std::isnan(at[g])) {
      return;  // a groove that was read and is not placed may lie in any band
    }
  }
  const auto try_band = [&](auto&& inside) {
    std::optional<Cell> lowest;
    for (std::size_t g = 0; g < lowest_round_.size(); ++g) {
      if (lowest_round_[g] && inside(at[g])) {
        keep_lower(lowest, *lowest_round_[g]);
      }
    }
    if (lowest) {
      keep_higher(facts.best_band, *lowest);
    }
  };
  try_band([](double x) { return x <= breadth; });
  for (std::size_t g = 0; g < lowest_round_.size(); ++g) {
    const double edge = at[g];
    if (lowest_round_[g] && edge < whole - breadth) {
      try_band([edge](double x) { return x > edge && x <= edge + breadth; });
    } else if (lowest_round_[g] && edge > breadth) {
      try_band([edge](double x) { return x >= edge - breadth && x <= edge; });
    }
  }
}

}  // namespace wheelend
