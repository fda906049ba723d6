using System.Globalization;
using CsCheck;
using HilRunner.Core.Files;
using HilRunner.Core.Time;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Reference;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Tests;

public class PropertyTests
{
    private static readonly Gen<string> s_cell = Gen.OneOf(
        Gen.Select(Gen.Long[-999_999_999_999, 999_999_999_999], Gen.Int[0, 12]).Select((n, d) => ((decimal)n / (decimal)Math.Pow(10, d)).ToString(CultureInfo.InvariantCulture)),
        Gen.Double.Select(v => v.ToString("R", CultureInfo.InvariantCulture)), Gen.Char["0123456789.-+e "].Array[0, 20].Select(c => new string(c)));

    /// <summary>The fast reader of numbers says the same as the general ones wherever it says anything.</summary>
    [Test]
    public void A_plain_number_is_the_number_that_the_general_reader_reads() => s_cell.Sample(cell =>
    {
        if (PlainNumber.TryValue(cell, out double value))
        {
            Assert.That(double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out double general), cell);
            Assert.That(BitConverter.DoubleToInt64Bits(value), Is.EqualTo(BitConverter.DoubleToInt64Bits(general)), cell);
        }
        if (PlainNumber.TryNs(cell, out long ns))
        {
            Assert.That(decimal.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out decimal seconds), cell);
            Assert.That(ns, Is.EqualTo(StimulusTime.FromSeconds(seconds).Ns), cell);
        }
    }, iter: 20_000, print: c => c);

    [Test]
    public void Samples_never_go_back_in_time_whatever_the_times_say() => Gen.Select(Gen.Long[-50, 50], Gen.Int[0, 9]).Array[2, 200].Sample(steps =>
    {
        long at = 0;
        long[] times = [0, .. steps.Select(s => s.Item2 == 0 ? InspectedRecording.NoTime : at += s.Item2 < 8 ? 20_000_000 : s.Item1 * 10_000_000)];
        var axis = SampleAxis.Of(new() { Name = "", Path = "", ChannelNames = ["ax"], Channels = [new double[times.Length]], TimesNs = times, StatedRate = new(50_000) });
        for (int i = 1; i < axis.Count; i++) { Assert.That(axis.At(i), Is.GreaterThanOrEqualTo(axis.At(i - 1))); }
        Assert.That(Enumerable.Range(0, axis.Count).All(i => axis.At(axis.IndexOf(axis.At(i))) == axis.At(i)));
    }, iter: 500);

    /// <summary>Any of the 47 other namings of the axes is told from the reference that it was made of, but for what differs in no figure.</summary>
    [Test]
    public void Every_exchange_of_axes_is_named()
    {
        var reference = Tilted(1);
        foreach (var exchange in AxisExchange.All.Skip(1))
        {
            var made = Tilted(2);
            var old = made.Channels;
            // The defect: new axis i is Sign × old axis From. The remedy that the check names is its inverse.
            made.Channels = [.. Enumerable.Range(0, 3).Select(i => Array.ConvertAll(old[exchange.From[i]], v => exchange.Sign[i] * v)), .. old[3..]];
            var check = Inspector.Inspect(made.Read(), new() { Reference = reference.Read() })["axes against the reference"];
            var inverse = AxisExchange.All.Single(e => Enumerable.Range(0, 3).All(i => e.From[exchange.From[i]] == i && e.Sign[exchange.From[i]] == exchange.Sign[i]));
            Assert.That(check.Summary, Does.Contain($"with {inverse.Said}:"), exchange.Said);
            Assert.That(check.Fitness, Is.EqualTo(exchange.IsRotation ? Fitness.WithCare : Fitness.Unfit), exchange.Said);
        }
    }

    /// <summary>Another person, the same mounting: no exchange is called.</summary>
    [Test]
    public void People_who_wear_it_alike_are_not_called_exchanged()
    {
        var reference = OpenRecordings.Activity(1, 1);
        foreach (var (e, u) in OpenRecordings.People.Skip(1))
        {
            var check = Inspector.Inspect(OpenRecordings.Activity(e, u), new() { Reference = reference, Unscored = OpenRecordings.Transitions })["axes against the reference"];
            Assert.That(check.Fitness, Is.EqualTo(Fitness.Fit), $"{u}: {check.Summary}");
        }
    }

    /// <summary>A sensor with known offset and scale, held in six positions a few degrees off: both come back within what the limits of the method say.</summary>
    [Test]
    public void Offset_and_scale_of_every_axis_are_found_in_six_positions() => Gen.Select(
        Gen.Double[-0.08, 0.08].Array[3], Gen.Double[-0.08, 0.08].Array[3], Gen.Double[-0.12, 0.12].Array[12]).Sample((offset, scale, tilt) =>
    {
        var channels = new double[3][];
        for (int c = 0; c < 3; c++) { channels[c] = new double[6 * 250]; }
        var random = new Random(5);
        for (int n = 0; n < channels[0].Length; n++)
        {
            int position = n / 250, up = position / 2;
            double u = tilt[2 * position], v = tilt[2 * position + 1];
            double[] felt = new double[3];
            felt[up] = (position % 2 == 0 ? 1 : -1) * Math.Sqrt(1 - u * u - v * v);
            felt[(up + 1) % 3] = u;
            felt[(up + 2) % 3] = v;
            for (int c = 0; c < 3; c++) { channels[c][n] = felt[c] * (1 + scale[c]) + offset[c] + 0.004 * (random.NextDouble() - 0.5); }
        }
        var check = Inspector.Inspect(
            new() { Name = "", Path = "", ChannelNames = ["ax", "ay", "az"],
                Channels = [.. channels.Select(c => new Series<double>(c))],
                    StatedRate = new(50_000) })["offset and scale by axis"];
        for (int c = 0; c < 3; c++)
        {
            // Tilt of 0.12 and errors of 0.08 · 1.12 in two other axes: 2 · 0.12 · 0.09 and its square.
            Assert.That(check.Figure($"offset_a{"xyz"[c]}"), Is.EqualTo(offset[c]).Within(0.03));
            Assert.That(check.Figure($"scale_a{"xyz"[c]}"), Is.EqualTo(scale[c]).Within(0.03));
            bool off = check.Findings.Any(f => f.Kind == "axis_offset" && f.What.StartsWith($"a{"xyz"[c]}", StringComparison.Ordinal));
            bool scaled = check.Findings.Any(f => f.Kind == "axis_scale" && f.What.StartsWith($"a{"xyz"[c]}", StringComparison.Ordinal));
            if (Math.Abs(offset[c]) > 0.06) { Assert.That(off); }
            if (Math.Abs(scale[c]) > 0.06) { Assert.That(scaled); }
        }
    }, iter: 40);

    /// <summary>As the good recording, but leaning over, so that gravity is felt on every axis and in every direction differently.</summary>
    private static GoodRecording Tilted(int seed)
    {
        var g = GoodRecording.Build(seed);
        double[] x = [.. g.Channels[0]], y = [.. g.Channels[1]], z = [.. g.Channels[2]];
        // A rotation that takes +z to (2, 5, 8.4)/10: columns of length 1 at right angles.
        double[] up = Unit([0.2, 0.5, 0.84]), east = Unit([1 - up[0] * up[0], -up[0] * up[1], -up[0] * up[2]]);
        double[] north = [up[1] * east[2] - up[2] * east[1], up[2] * east[0] - up[0] * east[2], up[0] * east[1] - up[1] * east[0]];
        for (int c = 0; c < 3; c++)
        {
            for (int n = 0; n < x.Length; n++) { g.Channels[c][n] = east[c] * x[n] + north[c] * y[n] + up[c] * z[n]; }
        }
        return g;
    }

    private static double[] Unit(double[] v)
    {
        double length = Math.Sqrt(v.Sum(c => c * c));
        return Array.ConvertAll(v, c => c / length);
    }
}
