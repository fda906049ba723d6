namespace HilRunner.Reporting.Tests;
internal class Show
{
    [Test, Explicit]
    public void Pages()
    {
        Directory.CreateDirectory("/tmp/rp/out");
        var runs = new Dictionary<string, InventedRun>
        {
            ["fail"] = new(3),
            ["pass"] = new(5) { Verdict = HilRunner.Scoring.Verdict.Pass, Reasons = ["all 7 limits held"] },
            ["rig"] = new(3) { Verdict = HilRunner.Scoring.Verdict.Inconc, Reasons = ["40 of 6000 samples went out more than 5 ms late"], Faults = ["40 of 6000 samples went out more than 5 ms late (latest 31 ms), limit 0"], Incidents = [new(new(43_200_000_000), "the device reset (banner in mid-run)"), new(new(81_000_000_000), "no credit for 2 s"), new(null, "link lost")], Complete = false, SixChannels = true, Outputs = ["activity", "posture"] },
            ["many"] = new(3) { Trials = 500 },
            ["empty"] = new(3) { Decides = false, Reasons = ["the device said nothing"] },
            ["one"] = new(3) { Trials = 1, SecondsPerTrial = 20 },
        };
        foreach (var (name, run) in runs)
        {
            using var w = new StreamWriter($"/tmp/rp/out/{name}.html");
            RunReport.Write(run.Build(), w);
        }
        using var suite = new StreamWriter("/tmp/rp/out/suite.html");
        SuiteReport.Write(InventedSuite.Of(60), suite);
    }
}
