using HilRunner.Application.Accepting;
using HilRunner.Application.Batches;
using HilRunner.Application.Motions;
using HilRunner.Core.Numerics;
using HilRunner.Core;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Documents;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;

namespace HilRunner.Application.Runs;

/// <summary>Reads scenarios, suites and folders of them into one batch; reports the faults of all files together.</summary>
internal static class BatchReader
{
    /// <summary>Most runs of one call.</summary>
    private const int MostRuns = 100_000;

    /// <param name="paths">Scenario files, suite files, or folders: a folder's suite.yaml, else every scenario in it.</param>
    /// <param name="rig">Its outputs and classes are those that limits may name.</param>
    /// <param name="repeat">Overrides the suites' repeats.</param>
    /// <param name="seed">Overrides the suites' seeds.</param>
    /// <exception cref="BadInputException">At least one file is unusable; holds the faults of every file.</exception>
    public static Batch Read(IReadOnlyList<string> paths, Rig rig, int? repeat, ulong? seed)
    {
        var items = new List<BatchItem>();
        var faults = new List<Fault>();
        var names = new List<string>();
        var suites = new List<SuiteLimits>();
        foreach (string path in paths)
        {
            foreach (string file in Files(path, faults))
            {
                Collect(faults, () =>
                {
                    if (DocumentKind.Of(file) == DocumentType.Suite) { AddSuite(file, rig, repeat, seed, items, suites, faults, names); }
                    else
                    {
                        var read = ReadScenario(file, rig, null, seed ?? 1, null, out string name);
                        names.Add(name);
                        CheckCount(file, (long)read.Count * (repeat ?? 1), faults);
                        if (faults.Count == 0) { items.AddRange(Enumerable.Range(1, repeat ?? 1).SelectMany(r => read.Select(item => item with { Repeat = r }))); }
                    }
                });
            }
        }
        if (faults.Count > 0) { throw new BadInputException(faults); }
        return new Batch(names.Count == 1 ? names[0] : $"{names[0]} and {names.Count - 1} more", items) { Suites = suites };
    }

    /// <summary>The runs of an acceptance plan: each scenario once, in its order; tested trial by trial, in one that is drawn by the seed, so that nobody chooses what comes first.</summary>
    /// <exception cref="BadInputException">At least one scenario is unusable; holds the faults of every one.</exception>
    public static Batch Read(AcceptancePlan plan, Rig rig)
    {
        var items = new List<BatchItem>();
        var faults = new List<Fault>();
        foreach (string scenario in plan.Scenarios)
        {
            Collect(faults, () => items.AddRange(ReadScenario(scenario, rig, plan.Name, plan.Seed, plan.HoldNs, out _)));
        }
        if (faults.Count > 0) { throw new BadInputException(faults); }
        BatchItem[] order = [.. items];
        if (plan.Sequential is not null) { SeededShuffle.Shuffle(order, plan.Seed); }
        return new(plan.Name, order) { Suites = [new(plan.Name, plan.Claims) { Sequential = TrialPool.Tests(plan, order, rig) }] };
    }

    /// <summary>
    /// Builds a stimulus of every scenario once and lets it go, and checks its variations, so that what cannot be played is found before
    /// anything is.
    /// </summary>
    /// <exception cref="BadInputException">Holds the faults of every recording.</exception>
    /// <returns>What is known of each that is played, by the path of its scenario.</returns>
    public static IReadOnlyDictionary<string, StimulusFacts> CheckStimuli(Batch batch, Rig rig)
    {
        var faults = new List<Fault>();
        var facts = new Dictionary<string, StimulusFacts>(StringComparer.Ordinal);
        foreach (var item in batch.Items.Where(i => i.ByHand is null).DistinctBy(i => i.Document.Path))
        {
            int prompts = item.Scenario.Steps.Count(s => s is PromptStep);
            if (prompts > 0)
            {
                faults.Add(new(item.Document.Path, 0, 0, $"{prompts} of {item.Scenario.Steps.Count} steps are prompts, the others are played",
                    "prompts alone (moved by hand), or steps of play and synth alone: no device feels both", "make two scenarios of it"));
                continue;
            }
            if (rig.Device.Hears.Sample is null)
            {
                faults.Add(new(item.Document.Path, 0, 0, $"a scenario to be played on rig {rig.Name}, which hears no samples", "a rig with hears.sample",
                    "describe hears.sample in the rig file, or make the scenario of prompts: then the device is moved by hand"));
                continue;
            }
            Collect(faults, () => facts[item.Document.Path] =
                StimulusFacts.Of(StimulusBuilder.Build(item.Scenario, item.Folder, rig.Device.Input, item.Seed)));
            var others = batch.Items.Where(i => i.Document.Path == item.Document.Path && i.Variation is not null).DistinctBy(i => i.Variation).Select(i => i.Scenario);
            Collect(faults, () => StimulusBuilder.Check(others, item.Folder, rig.Device.Input));
        }
        if (faults.Count > 0) { throw new BadInputException([.. faults.Distinct()]); }
        return facts;
    }

    private static void AddSuite(
        string file, Rig rig, int? repeat, ulong? seed, List<BatchItem> items, List<SuiteLimits> suites, List<Fault> faults, List<string> names)
    {
        Suite suite = SuiteFile.Read(file);
        names.Add(suite.Name);
        if (suite.Limits.Count > 0 || suite.Compare != new CompareTolerances()) { suites.Add(new(suite.Name, suite.Limits) { Tolerances = suite.Compare }); }
        ulong used = seed ?? suite.Seed;
        var read = new List<BatchItem>();
        foreach (string scenario in suite.Scenarios)
        {
            Collect(faults, () => read.AddRange(ReadScenario(scenario, rig, suite.Name, used, suite.HoldNs, out _)));
        }
        CheckCount(file, (long)read.Count * (repeat ?? suite.Repeats), faults);
        if (faults.Count > 0) { return; }
        for (int r = 1; r <= (repeat ?? suite.Repeats); r++)
        {
            int round = r;
            var order = read.Select(item => item with { Repeat = round }).ToArray();
            if (suite.Order == SuiteOrder.Shuffled) { SeededShuffle.Shuffle(order, used + (ulong)round); }
            items.AddRange(order);
        }
    }

    /// <param name="holdNs">In place of what the scenario says itself; null: nothing.</param>
    /// <returns>The scenario, or each of its variations.</returns>
    private static IReadOnlyList<BatchItem> ReadScenario(string file, Rig rig, string? suite, ulong seed, long? holdNs,
        out string name)
    {
        Scenario scenario = ScenarioFile.Read(file, rig);
        if (holdNs is { } hold) { scenario = scenario with { Rules = scenario.Rules with { HoldNs = hold } }; }
        string text = File.ReadAllText(file);
        var item = new BatchItem(new(file, FileHash.Sha256OfText(text), text), scenario, suite, 1, seed) { HoldNs = holdNs };
        name = scenario.Name;
        if (scenario.Variations.Count == 0) { return [item]; }
        return [.. scenario.Variations.Select(v => item with { Scenario = v.Apply(scenario), Variation = v })];
    }

    private static void CheckCount(string file, long runs, List<Fault> faults)
    {
        if (runs > MostRuns) { faults.Add(new(file, 0, 0, $"{runs} runs", $"at most {MostRuns}", "fewer repeats, or fewer combinations under vary:")); }
    }

    private static IEnumerable<string> Files(string path, List<Fault> faults)
    {
        if (File.Exists(path)) { return [path]; }
        if (!Directory.Exists(path))
        {
            faults.Add(new(path, 0, 0, "no such file or folder", "a scenario, a suite or a folder of scenarios", "check the path"));
            return [];
        }
        string suite = Path.Combine(path, "suite.yaml");
        if (File.Exists(suite)) { return [suite]; }
        string[] files = [.. Directory.EnumerateFiles(path, "*.yaml").Where(f => DocumentKind.Of(f) == DocumentType.Scenario).Order(StringComparer.Ordinal)];
        if (files.Length == 0)
        {
            faults.Add(new(path, 0, 0, "a folder without scenarios", "a suite.yaml or scenario files (*.yaml) in it", "check the path"));
        }
        return files;
    }

    private static void Collect(List<Fault> faults, Action read)
    {
        try { read(); }
        catch (BadInputException input) { faults.AddRange(input.Faults); }
        catch (IOException unreadable) { faults.Add(new("", 0, 0, unreadable.Message, "a readable file")); }
    }
}
