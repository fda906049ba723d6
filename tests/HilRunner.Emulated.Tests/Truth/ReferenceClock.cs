using System.Globalization;
using HilRunner.Emulated.Tests.Bench;

namespace HilRunner.Emulated.Tests.Truth;

/// <summary>
/// Host time of every stamp of the device, from the proxy's own exchanges on the undelayed side and the known rate of the
/// device's clock; the tool's exchanges and its code have no part in it. With the rate known, one constant an epoch is left, and
/// each exchange bounds it from both sides: the stamp was taken after the question was handed over and before its answer
/// came. The middle of what all of them leave is the truth. A banner begins a new epoch, and so does an exchange that
/// contradicts the ones before: the clock stood still.
/// </summary>
internal sealed class ReferenceClock
{
    private const long WrapUs = 1L << 32;
    /// <summary>Many times the timer's own wander, of some 30 µs.</summary>
    private const double ContradictionNs = 200e3;
    private readonly double _rate;
    private readonly List<Epoch> _epochs = [];

    private sealed class Epoch
    {
        public long LastUs = -1;
        public double Least = double.NegativeInfinity;
        public double Most = double.PositiveInfinity;
        public int Exchanges;
    }

    /// <summary>Stamps of decisions in the order in which they came, in host ns.</summary>
    public List<double> DecisionNs { get; } = [];

    /// <summary>Half-width of the reference itself, ns, of each epoch with decisions.</summary>
    public IEnumerable<double> HalfWidthsNs => _epochs.Where(e => e.Exchanges > 100).Select(e => (e.Most - e.Least) / 2);

    public int Exchanges => _epochs.Sum(e => e.Exchanges);

    public ReferenceClock(Proxy proxy, int skewPpm)
    {
        _rate = 1 + skewPpm * 1e-6;
        var asked = proxy.Asked.ToLookup(a => a.Token, a => a.At);
        var stamps = new List<(Epoch Epoch, long Us)>();
        var epoch = new Epoch();
        foreach (var (at, line) in proxy.FromDevice)
        {
            string[] words = line.Split(' ');
            if (words[0] == "boot") { _epochs.Add(epoch = new()); }
            else if (words[0] == "c") { stamps.Add((epoch, Unwrap(epoch, words[3]))); }
            else if (words[0] == "t" && asked[uint.Parse(words[1], CultureInfo.InvariantCulture)] is var questions && questions.Any())
            {
                // Tokens come round after more than 6 s, and no answer takes that long.
                var sent = questions.Last(q => q < at);
                long us = Unwrap(epoch, words[2]);
                if (at.Ns - 1000 * us / _rate < epoch.Least - ContradictionNs || sent.Ns - 1000 * (us + 1) / _rate > epoch.Most + ContradictionNs)
                {
                    _epochs.Add(epoch = new() { LastUs = epoch.LastUs });
                }
                // The clock stood somewhere in the microsecond that the stamp is rounded down to.
                epoch.Least = Math.Max(epoch.Least, sent.Ns - 1000 * (us + 1) / _rate);
                epoch.Most = Math.Min(epoch.Most, at.Ns - 1000 * us / _rate);
                epoch.Exchanges++;
            }
        }
        DecisionNs.AddRange(stamps.Select(s => (s.Epoch.Least + s.Epoch.Most) / 2 + 1000 * (s.Us + 0.5) / _rate));
    }

    /// <summary>Answers come many times a wrap and in order.</summary>
    private static long Unwrap(Epoch epoch, string text)
    {
        long us = long.Parse(text, CultureInfo.InvariantCulture);
        if (epoch.LastUs >= 0) { us += (long)Math.Round((epoch.LastUs - us) / (double)WrapUs) * WrapUs; }
        epoch.LastUs = us;
        return us;
    }
}
