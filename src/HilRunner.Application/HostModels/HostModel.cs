using HilRunner.Core;
using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;

namespace HilRunner.Application.HostModels;

/// <summary>The model that the firmware is said to run, run on the host: the same counts in, decisions out.</summary>
internal sealed class HostModel
{
    private readonly IReadOnlyDictionary<string, string> _names;
    private readonly string _output;

    private HostModel(MotionModel model, IReadOnlyDictionary<string, string> names, string output, string path) => (Model, _names, _output, Path) = (model, names, output, path);

    public string Path { get; }

    public MotionModel Model { get; }

    public IReadOnlySet<string> Events => Model.Events.Select(e => ClassOf(Model.Classes[e.Class])).ToHashSet(StringComparer.Ordinal);

    /// <summary>What the model looks back at, at least: its window, and the windows that confirm a change.</summary>
    public long LooksBackNs => Model.Rate.TimeOf(Model.Window + (long)Model.Hop * Model.Confirm.Max()).Ns;

    /// <summary>From one window to the next.</summary>
    public long HopNs => Model.Rate.TimeOf(Model.Hop).Ns;

    public IReadOnlyList<string> Classes => [.. Model.Classes.Select(ClassOf)];

    /// <exception cref="BadInputException">No model, or one for another rate or other channels than the rig's device has.</exception>
    public static HostModel Read(string path, Rig rig, string output)
    {
        var model = MotionModel.Read(path);
        var input = rig.Device.Input;
        string wanted = $"{model.Rate}, {string.Join(" ", model.Channels.Select(c => $"{c.Name} {c.UnitsPerCount}"))}", has = $"{input.Rate}, {string.Join(" ", input.Channels.Select(c => $"{c.Name} {c.UnitsPerCount}"))}";
        if (model.Rate != input.Rate || model.Channels.Any(c => !input.Channels.Any(i => i.Name == c.Name && Math.Abs(i.UnitsPerCount - c.UnitsPerCount) <= 1e-9 * c.UnitsPerCount)))
        {
            throw new BadInputException([new(path, 0, 0, $"a host model for {wanted}", $"what the rig's device is fed: {has}", "give the model that this device runs")]);
        }
        return new(model, rig.Device.Says.Decisions.FirstOrDefault(d => d.Output == output)?.Classes ?? rig.Device.Classes, output, path);
    }

    public IReadOnlyList<Decision> Decide(Stimulus stimulus)
    {
        var counts = CountsOf(stimulus);
        var runner = new ModelRunner(Model);
        var decisions = new List<Decision>();
        int[] sample = new int[counts.Length];
        for (int n = 0; n < stimulus.SampleCount; n++)
        {
            for (int c = 0; c < sample.Length; c++) { sample[c] = counts[c][n]; }
            if (!runner.Push(n, sample, out var decision)) { continue; }
            long played = n - stimulus.LeadSamples;
            decisions.Add(new(stimulus.Rate.TimeOf(played), ClassOf(decision.Class), _output) { Sample = played, Confidence = decision.Confidence });
        }
        return decisions;
    }

    /// <summary>The question at which the model leaves the way to another class, in the window that ends with a sample; null: none does.</summary>
    /// <param name="sample">From the first stimulus sample.</param>
    public AnsweredQuestion? Parting(Stimulus stimulus, long sample, string other)
    {
        long index = sample + stimulus.LeadSamples;
        if (index < 0 || index >= stimulus.SampleCount) { return null; }
        return AnsweredQuestion.At(Model, CountsOf(stimulus), (int)index).LastOrDefault(q => q.Otherwise.Any(c => ClassOf(c) == other));
    }

    /// <summary>What the device said of its features in a play, beside this model's; null: nothing that can be compared.</summary>
    public string? Compare(DeviceReport report, Stimulus stimulus) => report.Features(Model, CountsOf(stimulus));

    private int[][] CountsOf(Stimulus stimulus) => [.. Model.Channels.Select(c => stimulus.Counts[stimulus.ChannelNames.ToList().IndexOf(c.Name)])];

    /// <summary>As the rig file names what the device says.</summary>
    private string ClassOf(string said) => _names.GetValueOrDefault(said, said);
}
