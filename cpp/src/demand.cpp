#include "wheelend/demand.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include "parallel.hpp"
#include "season.hpp"
#include "split_mix.hpp"
#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr std::size_t causes = removal_cause_names.size(), sources = tire_source_names.size();
constexpr float never = std::numeric_limits<float>::infinity();

// ---- random numbers by their number

// The n-th number of SplitMix64 whose state is a hash of what the stream is for.
class Stream {
 public:
  Stream(std::uint64_t seed, std::uint64_t draw, std::uint64_t key)
      : state_(mixed(mixed(mixed(seed + golden) ^ (draw + golden)) ^ key)) {}
  [[nodiscard]] std::uint64_t at(std::uint64_t n) const { return mixed(state_ + n * golden); }

 private:
  std::uint64_t state_;
};

// What the numbers of a unit's stream are for. Tires follow by place and by how many there were.
enum : std::uint64_t { n_visit, n_level, n_sold, n_path = 16, n_tires = 4096, per_place = 256 };

// Standard normal deviates at 65536 levels: 16 random bits each.
class Normals {
 public:
  Normals() : of_(std::make_unique<std::array<float, levels>>()) {
    for (std::size_t i = 0; i < levels; ++i) {
      (*of_)[i] = static_cast<float>(normal_quantile((static_cast<double>(i) + 0.5) / levels));
    }
  }
  [[nodiscard]] float at(std::uint64_t bits) const { return (*of_)[bits & (levels - 1)]; }

 private:
  static constexpr std::size_t levels = 65536;
  std::unique_ptr<std::array<float, levels>> of_;
};

const Normals& normals() {
  static const Normals n;
  return n;
}

// Chance that a tire is left on, by how far it is past the pull depth in standard deviations of the pull.
class LeftOn {
 public:
  static constexpr float least = -3.5F, most = 4.0F;  // all stay, none stays
  LeftOn() {
    for (std::size_t i = 0; i < chance_.size(); ++i) {
      const double past = least + (static_cast<double>(i) + 0.5) / per_one;
      chance_[i] = static_cast<float>(normal_cdf(-past));
    }
  }
  [[nodiscard]] float at(float past) const {
    return past >= most ? 0.0F : chance_[static_cast<std::size_t>((past - least) * per_one)];
  }

 private:
  static constexpr float per_one = 128.0F;
  std::array<float, static_cast<std::size_t>((most - least) * per_one) + 1> chance_{};
};

const LeftOn& left_on() {
  static const LeftOn l;
  return l;
}

// exp by (1 + y/64 ...)^64: within 1e-6 for |y| < 4, and plain enough for the compiler to do many at once.
inline float soft_exp(float y) {
  const float z = std::clamp(y, -6.0F, 6.0F) * (1.0F / 64.0F);
  float e = 1.0F + z * (1.0F + z * (0.5F + z * (1.0F / 6.0F + z * (1.0F / 24.0F))));
  e *= e;
  e *= e;
  e *= e;
  e *= e;
  e *= e;
  return e * e;
}

float uniform(std::uint64_t bits, int width) {  // in (0, 1)
  const std::uint64_t levels = std::uint64_t{1} << width;
  return (static_cast<float>(bits & (levels - 1)) + 0.5F) / static_cast<float>(levels);
}

// ---- what all of a draw share

struct Shared {
  std::vector<float> wear;     // by role: log factor
  std::vector<float> pull_mm;  // by role: pulled so much earlier
  float use = 0.0F;            // log factor
  float damage_per_day = 0.0F;
};

Shared shared_of(const DemandFleet& fleet, const DemandOptions& options, std::uint64_t draw) {
  const DemandPractice& p = fleet.practice;
  const DemandChanges& c = options.changes;
  const Stream stream(options.seed, draw, 0x666c656574ULL);
  const Normals& z = normals();
  Shared s;
  for (std::size_t r = 0; r < p.roles.size(); ++r) {
    const std::uint64_t bits = stream.at(2 + r);
    s.wear.push_back(static_cast<float>(std::log(c.wear) + p.roles[r].wear_doubt * z.at(bits)));
    s.pull_mm.push_back(static_cast<float>(c.pull_shift_mm + p.roles[r].pull_doubt_mm * z.at(bits >> 16)));
  }
  const std::uint64_t bits = stream.at(0);
  s.use = static_cast<float>(std::log(c.use) + fleet.use_doubt * z.at(bits));
  const double damage = std::isnan(c.damage_per_year)
                            ? p.damage_per_year * std::exp(p.damage_doubt * z.at(bits >> 16))
                            : c.damage_per_year;
  s.damage_per_day = static_cast<float>(damage / year_days);
  return s;
}

// ---- one unit in one draw

// Constants of a unit's path, from step to step: an autoregression with noise on top has the covariances of
// one with a moving average (Box, Jenkins 1970), which needs one random number a step.
struct PathLaw {
  float level, now, now_on_level, keep, average, shock;
  explicit PathLaw(const DemandUnit& u)
      : level(static_cast<float>(std::sqrt(u.level))),
        now(static_cast<float>(std::sqrt(u.drift_now))),
        now_on_level(static_cast<float>(u.drift_on_level)),
        keep(static_cast<float>(std::exp(-u.visit_days / u.drift_days))) {
    const double k = std::exp(-u.visit_days / u.drift_days);
    const double a = u.drift * (1.0 - k * k) + u.rest * (1.0 + k * k), b = k * u.rest;
    const double ratio = b > 0.0 ? a / (2.0 * b) : std::numeric_limits<double>::infinity();
    const double theta =
        std::isfinite(ratio) ? 1.0 / (ratio + std::sqrt(std::max(ratio * ratio - 1.0, 0.0))) : 0.0;
    average = static_cast<float>(theta);
    shock = static_cast<float>(std::sqrt(theta > 0.0 ? b / theta : a));
  }
};

class UnitRun {
 public:
  UnitRun(const DemandFleet& fleet, const DemandOptions& options)
      : fleet_(fleet), options_(options), end_(static_cast<float>(options.month_ends.back())) {
    const DemandPractice& p = fleet.practice;
    const DemandChanges& c = options.changes;
    with_mate_ = static_cast<float>(std::isnan(c.with_mate) ? p.with_mate : c.with_mate);
    shop_days_ = static_cast<float>(p.shop_days);
    log_fresh_ = static_cast<float>(std::log(c.fresh_wear));
    for (const RolePractice& r : p.roles) {
      moved_share_.push_back(static_cast<float>(std::min(r.moved_share * c.moved_share, 1.0)));
    }
  }

  // Places [first, last) of the fleet's list by unit are those of unit u. `count(place, day, cause, source)`.
  template <class Count>
  void run(std::int32_t u, const PathLaw& law, std::span<const std::int32_t> places, const Shared& shared,
           std::uint64_t draw, const Count& count) {
    const DemandUnit& unit = fleet_.units[static_cast<std::size_t>(u)];
    const double growth = options_.changes.growth_per_year;
    Stream stream(options_.seed, draw, unit.key);
    lay_path(unit, law, shared, stream);
    sold_ = never;
    if (growth < 0.0) {
      sold_ = static_cast<float>(std::log(uniform(stream.at(n_sold), 32)) / growth * year_days);
    }
    run_places(places, shared, stream, false, 0.0F, count);
    if (growth > 0.0) {  // units like this one that come new, each with its own chances
      float begin = 0.0F;
      for (std::uint64_t clone = 1;; ++clone) {
        const Stream own(options_.seed, draw, mixed(unit.key + clone));
        begin -= static_cast<float>(std::log(uniform(own.at(n_sold), 32)) / growth * year_days);
        if (begin >= end_) {
          break;
        }
        lay_path(unit, law, shared, own);
        run_places(places, shared, own, true, begin, count);
      }
    }
  }

 private:
  struct Tire {
    float at_pull = 0.0F;   // exposure of the unit at which it is at pull depth
    float per = 1.0F;       // standard deviations of the pull by exposure
    float stays = 0.5F;     // it comes off once its chance to have been left on falls below
    float removal = never;  // day
    bool damaged = false;
    std::uint32_t number = 0;  // how many there were before it
  };

  // Days of the visits and exposure by then, counted from day 0.
  void lay_path(const DemandUnit& unit, const PathLaw& law, const Shared& shared, const Stream& stream) {
    const Normals& z = normals();
    const std::size_t steps = unit.km.size();
    y_.resize(steps + 3);
    x_.resize(steps + 1);
    const std::uint64_t bits = stream.at(n_level), visit = stream.at(n_visit);
    const float level = z.at(bits), base = shared.use + law.level * level;
    float drift = law.now_on_level * law.level * level + law.now * z.at(bits >> 16), last = 0.0F;
    for (std::size_t k = 0; k < steps; k += 4) {
      std::uint64_t four = stream.at(n_path + k / 4);
      for (std::size_t i = k; i < k + 4 && i < steps; ++i, four >>= 16) {
        const float shock = law.shock * z.at(four);
        drift = law.keep * drift + shock - law.average * last;
        last = shock;
        y_[i] = base + drift;
      }
    }
    for (std::size_t k = 0; k < steps; ++k) {
      y_[k] = soft_exp(y_[k]) * unit.km[k];
    }
    visit_days_ = static_cast<float>(unit.visit_days);
    has_last_ = !std::isnan(unit.last_visit);
    last_visit_ = has_last_ ? static_cast<float>(unit.last_visit) : 0.0F;
    // The next visit comes about as long after the last as usual; one that is overdue may come any day.
    const float about = uniform(visit, 24);
    const float due = last_visit_ + visit_days_ * (0.85F + 0.3F * about);
    first_visit_ = has_last_ && due > 0.0F ? due : visit_days_ * about;
    const float share = first_visit_ / visit_days_;
    x_[0] = has_last_ ? -static_cast<float>(unit.km_since) : 0.0F;
    x_[1] = y_[0] * share;
    for (std::size_t k = 1; k < steps; ++k) {
      x_[k + 1] = x_[k] + y_[k];
    }
  }

  [[nodiscard]] float day_of(std::size_t k) const {
    return k == 0 ? last_visit_ : first_visit_ + static_cast<float>(k - 1) * visit_days_;
  }

  // Exposure at a day, straight between visits.
  [[nodiscard]] float exposure_at(float day) const {
    if (day <= 0.0F) {
      return last_visit_ < 0.0F ? x_[0] * day / last_visit_ : 0.0F;
    }
    if (day <= first_visit_) {
      return x_[1] * day / first_visit_;
    }
    const float place = (day - first_visit_) / visit_days_;
    const std::size_t k = std::min(static_cast<std::size_t>(place) + 1, x_.size() - 2);
    return x_[k] + (place - static_cast<float>(k - 1)) * (x_[k + 1] - x_[k]);
  }

  template <class Count>
  void run_places(std::span<const std::int32_t> places, const Shared& shared, const Stream& stream,
                  bool all_new, float begin, const Count& count) {
    for (const std::int32_t p : places) {
      const DemandPlace& place = fleet_.places[static_cast<std::size_t>(p)];
      if (place.mate >= 0 && place.mate < p) {
        continue;  // it has been run with its mate
      }
      Tire own = first_tire(place, shared, stream, all_new, begin);
      if (place.mate < 0) {
        run_alone(p, own, shared, stream, count);
        continue;
      }
      const DemandPlace& other = fleet_.places[static_cast<std::size_t>(place.mate)];
      Tire mate = first_tire(other, shared, stream, all_new, begin);
      run_pair(p, place.mate, own, mate, shared, stream, count);
    }
  }

  static RemovalCause cause_of(const Tire& tire) {
    return tire.damaged ? RemovalCause::damaged : RemovalCause::worn;
  }

  template <class Count>
  void run_alone(std::int32_t p, Tire& tire, const Shared& shared, const Stream& stream, const Count& count) {
    while (tire.removal < end_) {
      replace(p, tire, tire.removal, cause_of(tire), shared, stream, count);
    }
  }

  template <class Count>
  void run_pair(std::int32_t p, std::int32_t q, Tire& own, Tire& mate, const Shared& shared,
                const Stream& stream, const Count& count) {
    while (true) {
      const bool own_first = own.removal <= mate.removal;
      Tire& tire = own_first ? own : mate;
      Tire& other = own_first ? mate : own;
      const std::int32_t at = own_first ? p : q, beside = own_first ? q : p;
      const float day = tire.removal;
      if (day >= end_) {
        return;
      }
      // Two that are due at one visit come off together, each for its own cause: neither takes along the tire
      // that was fitted beside it on that day.
      const bool both = other.removal == day;
      const bool along =
          !both && !tire.damaged && uniform(bits_of(beside, other.number, stream, 1), 24) < with_mate_;
      replace(at, tire, day, cause_of(tire), shared, stream, count);
      if (both || along) {
        replace(beside, other, day, both ? cause_of(other) : RemovalCause::with_mate, shared, stream, count);
      }
    }
  }

  [[nodiscard]] std::uint64_t bits_of(std::int32_t p, std::uint32_t number, const Stream& stream,
                                      std::uint64_t which) const {
    const auto slot = static_cast<std::uint64_t>(fleet_.places[static_cast<std::size_t>(p)].slot);
    return stream.at(n_tires + (slot * per_place + (number % (per_place / 2)) * 2 + which));
  }

  Tire first_tire(const DemandPlace& place, const Shared& shared, const Stream& stream, bool all_new,
                  float begin) const {
    Tire tire;
    const auto p = static_cast<std::int32_t>(&place - fleet_.places.data());
    if (all_new) {
      fit(p, tire, begin, place.fresh, 1.0F, false, shared, stream);
    } else if (place.now < 0) {
      fit(p, tire, 0.0F, place.fresh, uniform(bits_of(p, 0, stream, 1) >> 24, 24), false, shared, stream);
    } else {
      fit(p, tire, last_visit_, place.now, 1.0F, true, shared, stream);
    }
    return tire;
  }

  // Puts a tire of a law on a place on a day: the one in use, whose law counts from day 0, or another with a
  // share of what its law says.
  void fit(std::int32_t p, Tire& tire, float day, std::int32_t of, float share, bool in_use,
           const Shared& shared, const Stream& stream) const {
    const auto role = static_cast<std::size_t>(fleet_.places[static_cast<std::size_t>(p)].role);
    const TireLaw& law = fleet_.laws[static_cast<std::size_t>(of)];
    const std::uint64_t bits = bits_of(p, tire.number, stream, 0);
    const std::size_t j = bits & (tire_cases - 1);
    const float faster =
        std::exp(law.spread * normals().at(bits >> 6) + shared.wear[role] + (in_use ? 0.0F : log_fresh_));
    const float rate = law.rate[j];
    const float need = (law.need[j] * share - shared.pull_mm[role] / rate) / faster;
    tire.at_pull = (in_use ? 0.0F : exposure_at(day)) + need;
    tire.per = rate * faster / static_cast<float>(fleet_.practice.roles[role].pull_sd_mm);
    tire.stays = uniform(bits >> 22, 16);
    tire.removal = never;
    find_removal(tire, day, in_use);
    // Damage has no memory; what is left of the bits says when.
    const float rate_of_damage = shared.damage_per_day;
    const float chance = uniform(bits >> 38, 24);
    tire.damaged = false;
    if (rate_of_damage > 0.0F && chance < rate_of_damage * (end_ - day)) {
      const float lost = day - std::log1p(-chance) / rate_of_damage;
      if (lost < tire.removal) {
        tire.removal = lost;
        tire.damaged = true;
      }
    }
  }

  // The visit at which a tire is pulled: at each it comes off with the chance that its depth is below one
  // that scatters from visit to visit.
  void find_removal(Tire& tire, float day, bool in_use) const {
    const float low = tire.at_pull + LeftOn::least / tire.per;
    const std::size_t last = x_.size() - 1;
    if (!(x_[last] > low)) {
      return;
    }
    std::size_t k = in_use && has_last_ ? 0 : 1;
    if (!in_use && day > first_visit_) {
      k = static_cast<std::size_t>((day - first_visit_) / visit_days_) + 2;  // the first visit after it
    } else if (!in_use && day <= 0.0F) {
      k = 1;
    }
    if (k > last) {
      return;
    }
    if (x_[k] <= low) {
      k = static_cast<std::size_t>(
          std::upper_bound(x_.begin() + static_cast<std::ptrdiff_t>(k), x_.end(), low) - x_.begin());
    }
    float left = 1.0F;
    const LeftOn& table = left_on();
    for (; k <= last; ++k) {
      left *= table.at((x_[k] - tire.at_pull) * tire.per);
      if (left < tire.stays) {
        tire.removal = day_of(k) + shop_days_;
        return;
      }
    }
  }

  template <class Count>
  void replace(std::int32_t p, Tire& tire, float day, RemovalCause cause, const Shared& shared,
               const Stream& stream, const Count& count) const {
    const DemandPlace& place = fleet_.places[static_cast<std::size_t>(p)];
    const auto role = static_cast<std::size_t>(place.role);
    const RolePractice& practice = fleet_.practice.roles[role];
    ++tire.number;
    const std::uint64_t bits = bits_of(p, tire.number, stream, 1) >> 24;
    TireSource source = TireSource::bought_new;
    std::int32_t law = place.fresh;
    float share = 1.0F;
    if (moved_share_[role] > 0.0F && uniform(bits, 20) < moved_share_[role]) {
      source = TireSource::moved_on;
      const auto left = static_cast<float>(practice.moved_left),
                 sd = static_cast<float>(practice.moved_left_sd);
      const float of_left = left + sd * normals().at(bits >> 20);
      law = place.moved >= 0 ? place.moved : place.fresh;
      share = std::max(place.moved >= 0 ? of_left / left : of_left, 0.02F);
    } else if (practice.retread_share > 0.0 &&
               uniform(bits >> 20, 16) < static_cast<float>(practice.retread_share)) {
      source = TireSource::retread;
    }
    if (day >= 0.0F && day < sold_) {
      count(p, day, cause, source);
    }
    fit(p, tire, day, law, share, false, shared, stream);
  }

  const DemandFleet& fleet_;
  const DemandOptions& options_;
  float end_, with_mate_ = 0.0F, shop_days_ = 0.0F, log_fresh_ = 0.0F;
  std::vector<float> moved_share_;
  std::vector<float> y_, x_;
  float visit_days_ = 30.0F, last_visit_ = 0.0F, first_visit_ = 0.0F, sold_ = never;
  bool has_last_ = false;
};

// Places of each unit, by unit.
struct ByUnit {
  std::vector<std::size_t> start;
  std::vector<std::int32_t> place;
};

ByUnit checked(const DemandFleet& fleet, const DemandOptions& options) {
  const auto units = static_cast<std::int32_t>(fleet.units.size());
  const auto laws = static_cast<std::int32_t>(fleet.laws.size());
  const auto roles = static_cast<std::int32_t>(fleet.practice.roles.size());
  const auto places = static_cast<std::int32_t>(fleet.places.size());
  if (options.month_ends.empty() || options.month_ends.front() < 1 ||
      !std::is_sorted(options.month_ends.begin(), options.month_ends.end())) {
    throw ColumnError("month_ends: expected days that rise from 1 on");
  }
  if (!options.group.empty()) {
    require_same_size(fleet.places.size(), options.group.size(), "group");
    for (const std::int32_t g : options.group) {
      if (g < -1 || g >= options.groups) {
        throw ColumnError("group: a place is of a group that is not there");
      }
    }
  }
  ByUnit by;
  by.start.assign(fleet.units.size() + 1, 0);
  for (std::int32_t p = 0; p < places; ++p) {
    const DemandPlace& place = fleet.places[static_cast<std::size_t>(p)];
    if (place.unit < 0 || place.unit >= units || place.role < 0 || place.role >= roles || place.now >= laws ||
        place.moved >= laws || place.fresh < 0 || place.fresh >= laws || place.slot < 0 || place.slot > 255 ||
        place.mate >= places) {
      throw ColumnError("a place names a unit, role, law, slot or mate that is not there");
    }
    if (place.mate >= 0) {
      const DemandPlace& mate = fleet.places[static_cast<std::size_t>(place.mate)];
      if (mate.mate != p || mate.unit != place.unit || place.mate == p) {
        throw ColumnError("mates must be two places of one unit that name each other");
      }
    }
    ++by.start[static_cast<std::size_t>(place.unit) + 1];
  }
  for (std::size_t u = 0; u < fleet.units.size(); ++u) {
    by.start[u + 1] += by.start[u];
    const DemandUnit& unit = fleet.units[u];
    const double needed = options.month_ends.back() / unit.visit_days + 1.0;
    if (by.start[u + 1] > by.start[u] && !(static_cast<double>(unit.km.size()) >= needed)) {
      throw ColumnError("a unit's exposure does not reach to the end of the horizon");
    }
  }
  by.place.resize(fleet.places.size());
  std::vector<std::size_t> next(by.start.begin(), by.start.end() - 1);
  for (std::int32_t p = 0; p < places; ++p) {
    by.place[next[static_cast<std::size_t>(fleet.places[static_cast<std::size_t>(p)].unit)]++] = p;
  }
  return by;
}

std::span<const std::int32_t> places_of(const ByUnit& by, std::size_t u) {
  return {by.place.data() + by.start[u], by.start[u + 1] - by.start[u]};
}

}  // namespace

std::vector<std::int32_t> simulate_demand(const DemandFleet& fleet, const DemandOptions& options) {
  const ByUnit by = checked(fleet, options);
  const std::size_t months = options.month_ends.size(), groups = static_cast<std::size_t>(options.groups);
  const std::size_t row = months * groups * sources * causes;
  std::vector<std::int32_t> counts(options.draws * row, 0);
  std::vector<std::uint16_t> month_of_day(static_cast<std::size_t>(options.month_ends.back()));
  for (std::size_t d = 0, m = 0; d < month_of_day.size(); ++d) {
    while (static_cast<std::int32_t>(d) >= options.month_ends[m]) {
      ++m;
    }
    month_of_day[d] = static_cast<std::uint16_t>(m);
  }
  std::vector<PathLaw> laws;
  for (const DemandUnit& unit : fleet.units) {
    laws.emplace_back(unit);
  }
  normals();
  left_on();
  // A block of draws at a time goes over all units, so that what is known of a tire is fetched once a block
  // and what is counted stays near. Each draw has its own place in the counts.
  constexpr std::size_t block = 128;
  const std::size_t blocks = (options.draws + block - 1) / block;
  std::atomic<std::size_t> done{0};
  parallel(blocks, options.threads, [&](std::size_t first, std::size_t last) {
    UnitRun run(fleet, options);
    for (std::size_t b = first; b < last; ++b) {
      const std::size_t begin = b * block, end = std::min(begin + block, options.draws);
      std::vector<Shared> shared;
      for (std::size_t d = begin; d < end; ++d) {
        shared.push_back(shared_of(fleet, options, options.first_draw + d));
      }
      for (std::size_t u = 0; u < fleet.units.size(); ++u) {
        const std::span<const std::int32_t> places = places_of(by, u);
        if (std::none_of(places.begin(), places.end(), [&options](std::int32_t p) {
              return options.group.empty() || options.group[static_cast<std::size_t>(p)] >= 0;
            })) {
          continue;
        }
        if (u % 256 == 0) {
          told(options.watch, static_cast<double>(done) / static_cast<double>(blocks));
        }
        for (std::size_t d = begin; d < end; ++d) {
          std::int32_t* const to = counts.data() + d * row;
          run.run(static_cast<std::int32_t>(u), laws[u], places, shared[d - begin], options.first_draw + d,
                  [&](std::int32_t p, float day, RemovalCause cause, TireSource source) {
                    const std::int32_t g =
                        options.group.empty() ? 0 : options.group[static_cast<std::size_t>(p)];
                    if (g >= 0) {
                      const std::size_t m = month_of_day[static_cast<std::size_t>(day)];
                      ++to[((m * groups + static_cast<std::size_t>(g)) * sources +
                            static_cast<std::size_t>(source)) *
                               causes +
                           static_cast<std::size_t>(cause)];
                    }
                  });
        }
      }
      ++done;
    }
  });
  return counts;
}

std::vector<RemovalEvent> simulate_removals(const DemandFleet& fleet, const DemandOptions& options,
                                            std::size_t draw) {
  const ByUnit by = checked(fleet, options);
  UnitRun run(fleet, options);
  const Shared shared = shared_of(fleet, options, draw);
  std::vector<RemovalEvent> out;
  for (std::size_t u = 0; u < fleet.units.size(); ++u) {
    run.run(static_cast<std::int32_t>(u), PathLaw(fleet.units[u]), places_of(by, u), shared, draw,
            [&](std::int32_t p, float day, RemovalCause cause, TireSource source) {
              out.push_back({.place = p, .day = static_cast<double>(day), .cause = cause, .source = source});
            });
  }
  std::stable_sort(out.begin(), out.end(), [](const RemovalEvent& a, const RemovalEvent& b) {
    return a.place != b.place ? a.place < b.place : a.day < b.day;
  });
  return out;
}

}  // namespace wheelend
