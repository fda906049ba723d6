using HilRunner.Core.Documents;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Signals.Transforms;

namespace HilRunner.Core.Scenarios;

/// <summary>Made signals: steps of their own, and what is mixed into recordings.</summary>
internal static class SynthShapes
{
    private static Shape<TimeSpan> Length => Shapes.Duration("0 s", "1000 h", aboveMin: true);

    public static Shape<SynthStep> Step { get; } = MapShape.Of<SynthStep>("Made signals", "a map with rest, tone, sweep, random, impact or free_fall", keys =>
    {
        var rest = keys.Optional("rest", Length, "Lying still for this long.");
        var fall = keys.Optional("free_fall", FallShape.Shape, "Falling freely: 0 g on all axes, over this height or for this long.");
        var moving = new MovingKeys(keys);
        var up = keys.Default("up", Shapes.Direction, "z", "The direction that points upwards, where rest reads +1 g.");
        var name = keys.Required("class", ClassNames.Name, "Class of this stretch of the reference.");
        moving.Relate(keys, rest, fall);
        keys.Check((entries, reading) =>
        {
            if (entries.Has(fall) && entries.Has(up)) { reading.Faults.Add(entries.NodeOf(up), $"up beside free_fall in {entries.Node.Path}", "no up: nothing is felt in free fall", "remove it"); }
        });
        return (entries, _) =>
        {
            if (entries.MaybeValue(fall) is { } falling) { return new(falling, entries.Get(name), new FreeFall()); }
            return entries.MaybeValue(rest) is { } still
                ? new(still, entries.Get(name), new Rest()) { Up = entries.Get(up) }
                : new(moving.LengthOf(entries), entries.Get(name), moving.SignalOf(entries)) { Up = entries.Get(up) };
        };
    });

    public static Shape<MixedSignal> Mixed { get; } = MapShape.Of<MixedSignal>("Made signals to mix in", "a map with tone, sweep, random or impact", keys =>
    {
        var moving = new MovingKeys(keys);
        moving.Relate(keys);
        return (entries, _) => new(moving.SignalOf(entries), moving.LengthOf(entries));
    });

    /// <summary>The keys of signals that move.</summary>
    private sealed class MovingKeys
    {
        private readonly Key<double> _tone;
        private readonly Key<(double From, double To, SweepLaw Law)> _sweep;
        private readonly Key<IReadOnlyList<DensityPoint>> _random;
        private readonly Key<TimeSpan> _impact;
        private readonly Key<double> _peak;
        private readonly Key<Direction> _axis;
        private readonly Key<TimeSpan> _length;
        private readonly Dictionary<IKey, IKey[]> _beside;

        public MovingKeys(MapKeys keys)
        {
            _tone = keys.Optional("tone", Shapes.Hertz, "Frequency of a sine.");
            _sweep = keys.Optional("sweep", Sweep(), "A sine whose frequency moves.");
            _random = keys.Optional("random", RandomShape.Shape, "Gaussian random vibration; seeded.");
            _impact = keys.Optional("impact", Shapes.Duration("0 s", "10 s", aboveMin: true), "Duration of a half-sine pulse at the start.");
            _peak = keys.Optional("peak", Shapes.Quantity(UnitKind.Acceleration, "0 g", "10000 g"), "tone, sweep, impact: amplitude, zero to peak.");
            _axis = keys.Optional("axis", Shapes.Direction, "tone, sweep, random, impact: the direction that it moves along.");
            _length = keys.Optional("for", Length, "tone, sweep, random, impact: how long the step lasts.");
            _beside = new() { [_tone] = [_peak, _axis, _length], [_sweep] = [_peak, _axis, _length], [_random] = [_axis, _length], [_impact] = [_peak, _axis, _length] };
        }

        /// <param name="still">The kinds that do not move.</param>
        public void Relate(MapKeys keys, params IKey[] still)
        {
            IKey[] kinds = [.. still.Take(1), .. _beside.Keys, .. still.Skip(1)];
            keys.ExactlyOne(kinds);
            keys.Check((entries, reading) =>
            {
                if (kinds.Where(entries.Has).ToList() is not [var kind]) { return; }
                foreach (IKey key in new IKey[] { _peak, _axis, _length })
                {
                    bool needed = _beside.TryGetValue(kind, out var beside) && beside.Contains(key);
                    if (needed && !entries.Has(key)) { reading.Faults.Add(entries.Node, $"no {key.Name} in {entries.Node.Path}", $"{key.Name}: {key.Shape.Form}"); }
                    if (needed || !entries.Has(key)) { continue; }
                    string users = string.Join(", ", _beside.Where(b => b.Value.Contains(key)).Select(b => b.Key.Name));
                    reading.Faults.Add(entries.NodeOf(key), $"{key.Name} beside {kind.Name} in {entries.Node.Path}", $"{key.Name} only beside {users}", "remove it");
                }
                if (entries.TryGet(_impact, out var pulse) && entries.TryGet(_length, out var length) && pulse > length)
                {
                    reading.Refuse(entries.NodeOf(_length), entries.NodeOf(_length).Shown, "at least as long as the impact");
                }
            });
        }

        public TimeSpan LengthOf(Entries entries) => entries.Get(_length);

        public SynthSignal SignalOf(Entries entries)
        {
            Direction axis = entries.Get(_axis);
            if (entries.Maybe(_random) is { } density) { return new RandomVibration(density, axis); }
            double peak = entries.Get(_peak);
            if (entries.MaybeValue(_sweep) is var (from, to, law)) { return new Sweep(from, to, law, peak, axis); }
            return entries.MaybeValue(_impact) is { } pulse ? new Impact(pulse, peak, axis) : new Tone(entries.Get(_tone), peak, axis);
        }

        private static MapShape<(double From, double To, SweepLaw Law)> Sweep() => MapShape.Of<(double, double, SweepLaw)>(null, "a map with from and to, such as {from: 5 Hz, to: 20 Hz}", keys =>
        {
            var from = keys.Required("from", Shapes.Hertz, "Frequency at the start.");
            var to = keys.Required("to", Shapes.Hertz, "Frequency at the end.");
            var law = keys.Default("law", new WordShape<SweepLaw>(("exponential", SweepLaw.Exponential), ("linear", SweepLaw.Linear)), "exponential", "exponential: as many octaves a minute all along; linear: as many hertz a second.");
            return (entries, reading) =>
            {
                if (entries.Get(from) == entries.Get(to)) { reading.Refuse(entries.NodeOf(to), entries.NodeOf(to).Shown, "another frequency than from", "use a tone"); }
                return (entries.Get(from), entries.Get(to), entries.Get(law));
            };
        });
    }
}
