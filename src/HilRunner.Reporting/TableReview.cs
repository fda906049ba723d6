using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;

namespace HilRunner.Reporting;

/// <summary>What a run's table was told and made, from the run's folder.</summary>
/// <param name="Faults">Why the run cannot be held against the device; empty: it can.</param>
public sealed record TableReview(TableRecord Record, TableOutcome Outcome, IReadOnlyList<string> Faults)
{
    /// <summary>Of what the table cannot make, and no model says that it does not matter.</summary>
    private const double MostLost = 0.5;

    /// <returns>Null: the run's device was not on the table.</returns>
    /// <exception cref="Core.BadInputException">A file of the folder is damaged.</exception>
    public static TableReview? Of(RunManifest manifest, string folder)
    {
        ArgumentNullException.ThrowIfNull(manifest);
        string record = Path.Combine(folder, RunFiles.TableRecord), motion = Path.Combine(folder, RunFiles.TableMotion);
        if (!manifest.OnTable || !File.Exists(record)) { return null; }
        var kept = TableRecord.Read(record);
        var (begins, told, measured) = File.Exists(motion) ? TableMotionFile.Read(motion) : (0, [], []);
        var outcome = TableOutcome.Of(kept, begins, told, measured);
        List<string> faults = [.. outcome.Faults];
        faults.AddRange(kept.Otherwise.Select(t => $"the table cannot show trial {t.Trial}, {t.Expected}: the host's model sees {t.OnTable ?? "nothing"} on the table and {t.Injected ?? "nothing"} injected"));
        if (kept.Model is null && !(kept.Loss.ErrorG <= MostLost * kept.Loss.WantedG)) { faults.Add(FormattableString.Invariant($"{kept.Loss.ErrorG:0.###} g of the motion's {kept.Loss.WantedG:0.###} g rms are missing or wrong on the table, and no host model (--host-model) says whether that matters")); }
        return new(kept, outcome, faults);
    }
}
