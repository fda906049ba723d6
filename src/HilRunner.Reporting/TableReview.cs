using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;

namespace HilRunner.Reporting;

/// <summary>What a run's table was told and made, from the run's folder.</summary>
/// <param name="Device">What the device's own samples say of it; null: it says none.</param>
/// <param name="Faults">Why the run cannot be held against the device; empty: it can.</param>
public sealed record TableReview(TableRecord Record, TableOutcome Outcome, TableOutcome? Device, IReadOnlyList<string> Faults)
{
    /// <summary>Of what the table cannot make, and no model says that it does not matter.</summary>
    private const double MostLost = 0.5;

    /// <param name="felt">Channel → the device's own samples at its rate, from the run's time 0 on; empty: it says none.</param>
    /// <returns>Null: the run's device was not on the table.</returns>
    /// <exception cref="Core.BadInputException">A file of the folder is damaged.</exception>
    public static TableReview? Of(RunManifest manifest, string folder, IReadOnlyDictionary<string, double[]> felt)
    {
        ArgumentNullException.ThrowIfNull(manifest);
        ArgumentNullException.ThrowIfNull(felt);
        string path = Path.Combine(folder, RunFiles.TableRecord), motion = Path.Combine(folder, RunFiles.TableMotion);
        if (!manifest.OnTable || !PlainFile.IsThere(path)) { return null; }
        var record = TableRecord.Read(path);
        var (begins, told, measured) = PlainFile.IsThere(motion) ? TableMotionFile.Read(motion) : (0, [], []);
        var device = told.Length == 0 ? null : Felt(record, begins, told, felt, manifest.Rate.Hertz);
        var outcome = TableOutcome.Of(record, begins, told, measured);
        List<string> faults = [.. outcome.Faults];
        faults.AddRange(record.Otherwise.Select(t => $"the table cannot show trial {t.Trial}, {t.Expected}: the host's model sees {t.OnTable ?? "nothing"} on the table and {t.Injected ?? "nothing"} injected"));
        if (record.Model is null && !(record.Loss.ErrorG <= MostLost * record.Loss.WantedG)) { faults.Add(FormattableString.Invariant($"{record.Loss.ErrorG:0.###} g of the motion's {record.Loss.WantedG:0.###} g rms are missing or wrong on the table, and no host model (--host-model) says whether that matters")); }
        return new(record, outcome, device, faults);
    }

    private static TableOutcome? Felt(TableRecord record, double begins, double[] told, IReadOnlyDictionary<string, double[]> felt, double rateHz)
    {
        if (!felt.TryGetValue("a" + record.Axis.TrimStart('-'), out double[]? along) || along.Length == 0) { return null; }
        int first = (int)Math.Ceiling(begins * rateHz), count = Math.Min(along.Length - first, (int)((told.Length - 1) / record.RateHz * rateHz));
        if (count <= 0) { return null; }
        double sign = record.Axis.StartsWith('-') ? -1 : 1, mean = along.AsSpan(first, count).ToArray().Average();
        double[] asked = new double[count], made = new double[count];
        for (int n = 0; n < count; n++)
        {
            double place = ((first + n) / rateHz - begins) * record.RateHz;
            int k = Math.Min((int)place, told.Length - 2);
            (asked[n], made[n]) = (told[k] + (place - k) * (told[k + 1] - told[k]), sign * (along[first + n] - mean));
        }
        return TableOutcome.Of(record with { RateHz = rateHz }, first / rateHz, asked, made);
    }
}
