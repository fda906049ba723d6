using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Spectrum;

/// <summary>The dominant frequency of every class that moves: the peak of the mean Welch spectrum of |a|, and of the three axes' spectra added.</summary>
internal sealed class FrequencyCheck : IRecordingCheck
{
    public string Name => "dominant frequency";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az"); }
        var moving = context.Spectra.All.Where(s => s.Moves).ToList();
        if (moving.Count == 0) { return CheckResult.NotJudged(Name, "nothing moves for a second or longer"); }
        var report = new CheckReport(Name);
        double nyquist = context.RateHz / 2, highest = 0;
        string highestClass = "";
        foreach (var s in moving)
        {
            report.Figure($"dominant_{Key(s.Class)}", s.DominantHz, "Hz");
            report.Figure($"dominant_axes_{Key(s.Class)}", s.DominantAxesHz, "Hz");
            if (s.DominantAxesHz > highest) { (highest, highestClass) = (s.DominantAxesHz.Value, Called(s.Class)); }
        }
        if (highest > Thresholds.NearNyquist.Value * nyquist)
        {
            report.Find("near_nyquist", Fitness.WithCare, $"{highestClass} is strongest at {Say.Number(highest)} Hz, close to half the rate of {Say.Number(context.RateHz)} Hz",
                report.Figure("highest_dominant", highest, "Hz"), "record faster: what lies above half the rate shows folded, as another frequency");
        }
        return report.Done(string.Join(", ", moving.Take(8).Select(s => $"{Called(s.Class)} {Say.Number(s.DominantHz ?? double.NaN)} Hz")) + (moving.Count > 8 ? " …" : ""));
    }

    internal static string Key(string name) => name.Length == 0 ? "all" : name;
    internal static string Called(string name) => name.Length == 0 ? "the recording" : name;
}
