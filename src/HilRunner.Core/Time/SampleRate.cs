namespace HilRunner.Core.Time;

/// <summary>A sample rate in whole millihertz, so that the time of a sample is exact. Range 1 mHz to 10 MHz.</summary>
public readonly record struct SampleRate
{
    public SampleRate(long milliHertz)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(milliHertz, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(milliHertz, 10_000_000_000);
        MilliHertz = milliHertz;
    }

    public long MilliHertz { get; }
    public double Hertz => MilliHertz / 1000.0;

    /// <summary>Time of sample <paramref name="n"/> (may be negative): n/r, to the nearest nanosecond, ties away from zero.</summary>
    public StimulusTime TimeOf(long n)
    {
        var scaled = (Int128)n * 1_000_000_000_000;
        var half = (Int128)(MilliHertz / 2);
        return new((long)((scaled + (scaled < 0 ? -half : half)) / MilliHertz));
    }

    /// <summary>The number of whole samples that lie before <paramref name="t"/>: the smallest n ≥ 0 with n/r ≥ t.</summary>
    public long SamplesBefore(StimulusTime t)
    {
        if (t.Ns <= 0) { return 0; }
        return (long)(((Int128)t.Ns * MilliHertz + 999_999_999_999) / 1_000_000_000_000);
    }

    public override string ToString() => FormattableString.Invariant($"{Hertz:0.###} Hz");
}
