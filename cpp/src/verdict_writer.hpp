// Compares one value with one row of a limit set and writes the verdict down. Every verdict is written here,
// whatever it is of. Private to the core.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "cell.hpp"
#include "wheelend/verdict.hpp"

namespace wheelend {

using Notes = std::uint64_t;
constexpr Notes bit(Note n) { return static_cast<Notes>(n); }

// What a verdict is of: whose facts count, on which day, the row that stands for it, and the place at the
// wheel end.
struct Of {
  Subject subject = {};
  std::int64_t row = -1;
  std::int32_t place = -1;
  bool wheelend = false;
  std::int32_t day = 0;
};

// A value with what is to be said of it.
struct Read {
  Cell cell = {};
  Notes notes = 0;
  std::int32_t fact = -1;
  std::optional<Cell> against =
      std::nullopt;  // what it was compared with to become a difference, or counted of
  std::int32_t against_position = -1;
  std::int32_t noted_limit = -1;  // row that the notes speak of, if not that of the verdict
};

// A row that speaks of the subject, or may.
struct Applicable {
  std::int32_t limit;
  Answer answer;
};

class VerdictWriter {
 public:
  VerdictWriter(const Facts& facts, const std::vector<LimitRow>& limits, const JudgeOptions& options);

  // Rows among `rows` that speak of the subject, or may. Of the rows of one clause at most one applies: where
  // none is known to, the first that may stands for all.
  void collect(const std::vector<std::int32_t>& rows, const Subject& subject,
               std::vector<Applicable>& out) const;

  // The verdict of one row on a value; none where a fact is not known, the reading is not admissible, or the
  // row is not in force on that day.
  Verdict compare(const Of& of, const Applicable& row, const Read& read);
  // The same for a thing that is there or not (`absent`).
  Verdict observe(const Of& of, const Applicable& row, bool there, const Read& read = {});
  void none(const Of& of, const Applicable& row, Notes notes, std::int32_t fact = -1);
  void none(const Of& of, const Applicable& row, const Read& why);
  // A reading that no row speaks of.
  void none_speaks(const Of& of, const Read& read);
  // A pass where the condition is known not to be met, whatever the value.
  void pass_unread(const Of& of, const Applicable& row, Notes notes);
  // The position's own pull depth.
  void compare_pull(const Of& of, const Cell& pull, const Read& read);
  void none_pull(const Of& of, const Cell& pull, Notes notes);

  // The bound of a row without base for a value in this measure.
  [[nodiscard]] Cell bound_for(std::int32_t limit, Measure read_in) const;
  // The bound of any row; nothing where its base is not known.
  [[nodiscard]] std::optional<Cell> bound_of(const Of& of, std::int32_t limit, Measure read_in) const;
  [[nodiscard]] bool in_force(const Of& of, std::int32_t limit) const {
    return of.day >= row(limit).since && of.day <= row(limit).until;
  }
  // Whether the value would pass; nothing where a base is not known.
  [[nodiscard]] std::optional<bool> would_pass(const Of& of, std::int32_t limit, const Cell& cell) const;

  [[nodiscard]] const LimitRow& row(std::int32_t limit) const {
    return limits_[static_cast<std::size_t>(limit)];
  }
  // Whether the row would fail a reading and may not, since it rests on memory.
  [[nodiscard]] bool held_back(std::int32_t limit) const {
    return row(limit).unconfirmed && !options_.count_unconfirmed;
  }
  VerdictTable take() { return std::move(out_); }

 private:
  // A row of the set with its bounds ready for comparison.
  struct Ready {
    Cell bound, upper, twin, twin_upper, alternative;
  };
  // One bound, with what it is a share of.
  struct Side {
    Cell bound = {};
    Cell base = {};  // share: the bound is base x share
    Cell share = {};
    Sense sense = Sense::at_least;
  };
  struct Outcome {
    bool known = true;
    bool passed = false;
    Side side = {};
    Notes notes = 0;
    std::int32_t fact = -1;
    bool stands_in = false;
  };

  [[nodiscard]] Outcome outcome(const Of& of, std::int32_t limit, const Cell& cell) const;
  [[nodiscard]] Outcome against_amount(const Of& of, const Amount& amount, const Cell& bound,
                                       const Cell& cell, Sense sense) const;
  [[nodiscard]] Outcome within(std::int32_t limit, const Cell& cell) const;
  // Whether a row may judge: where it may not, that is written down; where it takes a fact as stated, it says
  // so.
  struct Gate {
    bool open = false;
    std::int32_t assumed = -1;
    void say(Read& said) const;
  };
  Gate gate(const Of& of, const Applicable& row, Notes notes);
  Verdict settle(const Of& of, std::int32_t limit, bool passed, Severity severity, Read said,
                 const Side& side);
  Verdict settle_unknown(const Of& of, const Applicable& row, const Read& said, std::int32_t base);
  static std::strong_ordering ordered(const Cell& cell, const Side& side);
  void write(const Of& of, std::int32_t limit, Verdict verdict, Severity severity, const Read& read,
             const Side& side);
  [[nodiscard]] Side shown(std::int32_t limit) const;

  const Facts& facts_;
  const std::vector<LimitRow>& limits_;
  const JudgeOptions options_;
  std::vector<Ready> ready_;
  VerdictTable out_;
};

}  // namespace wheelend
