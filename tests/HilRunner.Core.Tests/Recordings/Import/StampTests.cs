using System.Globalization;
using CsCheck;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings.Import;

/// <summary>Times in every form, gaps, jumps back, jitter and resampling.</summary>
public class StampTests
{
    private const string Plain = "columns: [t, ax]\nacceleration: g\nheader: false\nseparator: comma\n";

    [TestCase("s", "1.25", 1_250_000_000)]
    [TestCase("s", "-0.000000001", -1)]
    [TestCase("s", "1700000000.123456789", 1_700_000_000_123_456_789)]
    [TestCase("ms", "1700000000123.5", 1_700_000_000_123_500_000)]
    [TestCase("us", "0.0005", 1)]
    [TestCase("ns", "1553872620859145", 1_553_872_620_859_145)]
    [TestCase("s", "1e3", 1_000_000_000_000)]
    [TestCase("iso", "1970-01-01T00:00:00Z", 0)]
    [TestCase("iso", "2026-11-25T07:00:00.123456789+01:00", 1_795_586_400_123_456_789)]
    [TestCase("iso", "2026-11-25 06:00:00,5", 1_795_586_400_500_000_000)]
    [TestCase("iso", "1969-12-31T23:59:59.5Z", -500_000_000)]
    public void Stamps(string unit, string text, long ns)
    {
        var reader = new StampReader(ImportTime.Named.Single(t => t.Unit == unit), decimalComma: false);
        Assert.That(reader.TryRead(text, out long read));
        Assert.That(read, Is.EqualTo(ns));
    }

    [TestCase("s", "")]
    [TestCase("s", "1.2.3")]
    [TestCase("s", "1,5")]
    [TestCase("s", "NaN")]
    [TestCase("s", "99999999999")]
    [TestCase("ns", "99999999999999999999999999999999999")]
    [TestCase("iso", "2026-02-30T00:00:00Z")]
    [TestCase("iso", "2026-11-25T24:00:00Z")]
    [TestCase("iso", "2026-11-25T07:00:60Z")]
    [TestCase("iso", "2026-11-25")]
    [TestCase("iso", "2026-11-25T07:00:00+1")]
    public void No_stamps(string unit, string text) =>
        Assert.That(new StampReader(ImportTime.Named.Single(t => t.Unit == unit), decimalComma: false).TryRead(text, out _), Is.False);

    /// <summary>The framework's own parser, which knows seven digits.</summary>
    [Test]
    public void Iso_agrees_with_the_framework() =>
        Gen.Select(Gen.DateTime[new DateTime(1700, 1, 1), new DateTime(2200, 1, 1)], Gen.Int[-14, 14]).Sample((moment, hours) =>
        {
            var stamp = new DateTimeOffset(DateTime.SpecifyKind(moment, DateTimeKind.Unspecified), TimeSpan.FromHours(hours));
            Assert.That(IsoStamp.TryRead(stamp.ToString("O", CultureInfo.InvariantCulture), out long ns));
            Assert.That(ns, Is.EqualTo((stamp - DateTimeOffset.UnixEpoch).Ticks * 100));
        }, iter: 2000);

    [Test]
    public void A_counter_of_16_bits_counts_on()
    {
        var reader = new StampReader(new("ticks", 1_000_000, 16), decimalComma: false);
        long[] read = [.. new[] { "65500", "65520", "4", "24", "0" }.Select(t => reader.TryRead(t, out long ns) ? ns / 1_000_000 : -1)];
        Assert.That(read, Is.EqualTo(new long[] { 65500, 65520, 65540, 65560, 65536 }));
        Assert.That(reader.TryRead("65536", out _), Is.False);
    }

    [Test]
    public void Ticks_of_a_fraction_of_a_nanosecond_do_not_add_up()
    {
        var reader = new StampReader(new("ticks", 1e9m / 32768, 0), decimalComma: false);
        Assert.That(reader.TryRead("32768000", out long ns));
        Assert.That(ns, Is.EqualTo(1_000_000_000_000));
    }

    [Test]
    public void Even_stamps_stay_and_start_at_0()
    {
        using var import = new Importing();
        var survey = import.Survey(import.File("log.csv", "5.000,1\n5.021,2\n5.039,3\n5.060,4\n"), Plain + "time: s\n");
        var recording = Importing.Written(survey).Single();
        Assert.That(survey.Recordings[0].Placing, Is.EqualTo(Placing.Stamps));
        Assert.That(File.ReadAllText(Path.Combine(import.Out, "log.csv")), Is.EqualTo("t_s,ax_g\n0,1\n0.021,2\n0.039,3\n0.06,4\n"));
        Assert.That(recording.Rate, Is.EqualTo(new SampleRate(50_000)));
    }

    [TestCase("0,1\n20,2\n40,3\n60,4\n100,5\n120,6\n", "log.csv:5: a step of 0.04 s from the sample before; expected steps of 0.02", new[] { 4, 2 })]
    [TestCase("0,1\n20,2\n40,3\n40,4\n60,5\n80,6\n", "log.csv:4: the same time as the sample before", new[] { 3, 3 })]
    [TestCase("100,1\n120,2\n140,3\n0,4\n20,5\n", "log.csv:4: a jump back of 0.14 s", new[] { 3, 2 })]
    public void Gaps_are_errors_with_a_place_or_new_recordings(string log, string fault, int[] samples)
    {
        using var import = new Importing();
        string path = import.File("log.csv", log);
        Assert.That(() => import.Survey(path, Plain + "time: ms\n"), Throws.TypeOf<BadInputException>().With.Message.Contains(fault));
        Assert.That(import.Import(path, Plain + "time: ms\nat_gaps: split\n").Select(r => r.SampleCount), Is.EqualTo(samples));
    }

    /// <summary>At 800 Hz whole milliseconds step by 1 or 2: no gaps, and no jitter of the samples.</summary>
    [Test]
    public void Coarse_stamps_are_no_gaps()
    {
        using var import = new Importing();
        string log = string.Concat(Enumerable.Range(0, 4000).Select(i => $"{i * 5 / 4},{i % 7}\n"));
        var survey = import.Survey(import.File("log.csv", log), Plain + "time: ms\n");
        Assert.That(survey.Recordings.Single().Rate.Hertz, Is.EqualTo(800).Within(0.3));
        Assert.That(survey.Recordings[0].Placing, Is.EqualTo(Placing.Evened));
        Assert.That(survey.Doubts, Has.Some.Contain("a lost sample can hide"));
        Assert.That(Importing.Written(survey).Single().SampleCount, Is.EqualTo(4000));
    }

    [Test]
    public void Samples_that_drift_from_the_stated_rate_are_an_error()
    {
        using var import = new Importing();
        string log = string.Concat(Enumerable.Range(0, 2000).Select(i => $"{i * 20.02m},{i % 7}\n"));
        Assert.That(() => import.Survey(import.File("log.csv", log), Plain + "time: ms\nrate: 50 Hz\n"),
            Throws.TypeOf<BadInputException>().With.Message.Contains("even samples at the stated rate of 50 Hz; the stamps have 49.95 Hz"));
    }

    /// <summary>What is kept as it stands is read by the strict reader of the native form: whatever the stamps, the two rules agree.</summary>
    [Test]
    public void Every_recording_that_is_written_can_be_read()
    {
        int kept = 0, evened = 0, refused = 0;
        Gen.Select(Gen.Int[2, 60], Gen.Double[0, 1.2], Gen.Int[1, 20], Gen.Bool, Gen.Int).Sample((count, jitter, unit, drop, seed) =>
        {
            var random = new Random(seed);
            using var import = new Importing();
            var stamps = Enumerable.Range(0, count).Select(i => (long)(i * 20 + (drop && i > count / 2 ? 20 : 0) + jitter * 20 * (random.NextDouble() - 0.5)) / unit * unit).Order();
            string path = import.File("log.csv", string.Concat(stamps.Select(s => $"{s},1\n")));
            try
            {
                var survey = import.Survey(path, Plain + "time: ms\nat_gaps: split\n");
                Assert.That(Importing.Written(survey).Sum(r => r.SampleCount) + survey.Rows.TooShort, Is.EqualTo(count));
                kept += survey.Recordings.Count(r => r.Placing == Placing.Stamps);
                evened += survey.Recordings.Count(r => r.Placing == Placing.Evened);
            }
            catch (BadInputException fault)
            {
                refused++;
                Assert.That(fault.Message, Does.Contain("log.csv").And.Contain("expected"));
            }
        }, iter: 400, threads: 1);
        Assert.That(Math.Min(kept, evened), Is.GreaterThan(20), $"{kept} kept, {evened} evened, {refused} refused");
    }

    /// <summary>Against scipy's CubicHermiteSpline with numpy's second-order slopes for uneven steps.</summary>
    [TestCase(50_000, 300)]
    [TestCase(61_500, 300)]
    [TestCase(50_000, 2)]
    [TestCase(50_000, 3)]
    public void Uneven_stamps_are_interpolated(long milliHertz, int count)
    {
        var random = new Random(7);
        long[] ms = [.. Enumerable.Range(0, count).Select(i => i * 20L + random.Next(-8, 9)).Order()];
        double[] values = [.. ms.Select(t => Math.Round(Math.Sin(t / 90.0), 6))];
        using var import = new Importing();
        string log = string.Concat(ms.Zip(values, (t, v) => FormattableString.Invariant($"{t},{v}\n")));
        var recording = import.Import(import.File("log.csv", log), Plain + FormattableString.Invariant($"time: ms\nresample: {milliHertz / 1000m} Hz\n")).Single();
        double[] expected = Scipy.Run($"""
            from scipy.interpolate import CubicHermiteSpline
            t = x[:{count}] / 1000; v = x[{count}:]; t = t - t[0]
            y = CubicHermiteSpline(t, v, np.gradient(v, t))(np.arange(int(t[-1] * {milliHertz / 1000.0} + 1e-9) + 1) / {milliHertz / 1000.0})
            """, [.. ms.Select(t => (double)t), .. values]);
        Assert.That(recording.Channels[0], Is.EqualTo(expected).Within(1e-9));
    }

    [Test]
    public void Resampling_is_no_filter()
    {
        using var import = new Importing();
        Assert.That(() => import.ImportText("0,1\n10,2\n20,3\n", Plain + "time: ms\nresample: 50 Hz\n"), Throws.TypeOf<BadInputException>().With.Message.Contains("at least the log's own rate"));
    }
}
