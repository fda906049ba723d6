using System.Diagnostics;
using System.Globalization;
using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Reviewing;

namespace HilRunner.Engine.Tests.Reviewing;

/// <summary>The distribution of lateness in a run's health: from playout.csv alone, by the definition and by a reference library.</summary>
public class LatenessTests
{
    [Test]
    public void AQuantileIsTheSmallestLatenessThatEnoughSamplesDoNotExceed() => Gen.Long[-50, 5_000].Array[1, 3_000].Sample(late =>
    {
        var health = Judge(late);
        long Least(int thousandths) => late.Order().First(v => late.Count(l => l <= v) * 1000L >= late.Length * (long)thousandths);
        Assert.That((health.LateP50Ns, health.LateP99Ns, health.LateP999Ns), Is.EqualTo(((long?)Least(500), (long?)Least(990), (long?)Least(999))));
        Assert.That(health.LateMaxNs, Is.EqualTo(Math.Max(0, late.Max())), "none is never negative");
    }, iter: 30);

    /// <summary>numpy (Debian, python3-scipy brings it), method inverted_cdf: Hyndman and Fan 1996, type 1.</summary>
    [TestCase(701)]
    [TestCase(4_801)]
    public void ItIsTheReferenceLibrarysQuantile(int count)
    {
        var random = new Random(count);
        long[] late = [.. Enumerable.Range(0, count).Select(_ => (long)(1e5 * Math.Exp(2 * random.NextDouble())))];
        string code = $"import numpy as np; print(*np.percentile([{string.Join(',', late)}], [50, 99, 99.9], method='inverted_cdf').astype(int))";
        using var process = Process.Start(new ProcessStartInfo("/usr/bin/python3", ["-c", code]) { RedirectStandardOutput = true })!;
        long[] expected = [.. process.StandardOutput.ReadToEnd().Split(' ').Select(w => long.Parse(w, CultureInfo.InvariantCulture))];
        process.WaitForExit();
        var health = Judge(late);
        Assert.That(new[] { health.LateP50Ns, health.LateP99Ns, health.LateP999Ns }, Is.EqualTo(expected));
    }

    [Test]
    public void NothingIsKnownOfARunWhoseSamplesWereNotDue()
    {
        var health = Judge([], timed: false, paced: 100);
        Assert.That((health.Sent, health.LateP50Ns, health.LateP99Ns, health.LateP999Ns, health.LateMaxNs), Is.EqualTo((100L, (long?)null, (long?)null, (long?)null, (long?)null)));
    }

    private static RigHealth Judge(long[] late, bool timed = true, int paced = 0) => RigFacts.Judge(new()
    {
        Limits = new(),
        Playout = [.. late.Select((ns, n) => new PlayoutRow(n, n * 1_000_000L, n * 1_000_000L + ns)), .. Enumerable.Range(late.Length, paced).Select(n => new PlayoutRow(n, null, n))],
        Timed = timed,
        Lost = 0,
        FramesBad = 0,
        LinesUnknown = 0,
        Reconnects = 0,
        ClockUncertaintyNs = null,
        Missing = 0,
        NotUnderstood = null,
        Credit = default,
        DecoderFailure = null,
        EndCause = EndCause.Completed,
        EndMessage = "",
    });
}
