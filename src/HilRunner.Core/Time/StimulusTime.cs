using System.Globalization;

namespace HilRunner.Core.Time;

/// <summary>
/// A moment in the stimulus, in nanoseconds: 0 is the first stimulus sample; sample n of a stimulus at rate r lies at
/// n/r. Negative during the lead. All scoring happens in this time, in exact integers.
/// </summary>
public readonly record struct StimulusTime(long Ns) : IComparable<StimulusTime>
{
    public const long NsPerSecond = 1_000_000_000;
    public static readonly StimulusTime Zero = new(0);

    /// <summary>Decimal seconds to the nearest nanosecond, ties away from zero.</summary>
    /// <exception cref="OverflowException">The value does not fit (over about 292 years).</exception>
    public static StimulusTime FromSeconds(decimal seconds) =>
        new(decimal.ToInt64(decimal.Round(seconds * NsPerSecond, 0, MidpointRounding.AwayFromZero)));

    public decimal Seconds => (decimal)Ns / NsPerSecond;
    public static StimulusTime operator +(StimulusTime a, long ns) => new(a.Ns + ns);

    /// <summary>The time from <paramref name="b"/> to <paramref name="a"/>, in nanoseconds.</summary>
    public static long operator -(StimulusTime a, StimulusTime b) => a.Ns - b.Ns;
    public static bool operator <(StimulusTime a, StimulusTime b) => a.Ns < b.Ns;
    public static bool operator >(StimulusTime a, StimulusTime b) => a.Ns > b.Ns;
    public static bool operator <=(StimulusTime a, StimulusTime b) => a.Ns <= b.Ns;
    public static bool operator >=(StimulusTime a, StimulusTime b) => a.Ns >= b.Ns;
    public int CompareTo(StimulusTime other) => Ns.CompareTo(other.Ns);
    public override string ToString() => Seconds.ToString("0.#########", CultureInfo.InvariantCulture) + " s";
}
