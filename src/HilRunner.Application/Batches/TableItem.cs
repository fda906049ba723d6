using HilRunner.Application.HostModels;
using HilRunner.Core;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;
using HilRunner.Core.Signals;
using HilRunner.Core.Time;
using HilRunner.Engine.Shaking;

namespace HilRunner.Application.Batches;

/// <summary>A scenario on the table: what is sent, what is lost of it, and when in the run it is felt. All of it is known before anything moves.</summary>
/// <param name="Stimulus">As it would be injected.</param>
/// <param name="AlongG">[sample] of it along the table's axis, in g, gravity included.</param>
internal sealed record TableItem(Shaker Shaker, Stimulus Stimulus, double[] AlongG, BuiltMotion Built, MotionFit Fit, MotionLoss Loss, IReadOnlyList<LostAxis> Others, string? Model, IReadOnlyList<TableTrial> Trials)
{
    /// <summary>Listened to before the run's time 0.</summary>
    public static readonly TimeSpan Lead = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan s_after = TimeSpan.FromSeconds(1);

    /// <summary>Where in the run the motion's time 0 is: the buffer is filled, and the run-in is over.</summary>
    public TimeSpan Begins => StreamDrive.Filling + Built.Motion.LeadTime;

    public TimeSpan Listen => StreamDrive.Filling + Built.Motion.Length + s_after;

    public IReadOnlyList<ReferenceInterval> Reference => [.. Stimulus.Reference.Select(r => r with { Start = Shifted(r.Start), End = Shifted(r.End) })];

    /// <exception cref="BadInputException">The scenario cannot be played, or leaves the envelope and was not to be fitted.</exception>
    public static TableItem Of(BatchItem item, Rig rig, MotionFit fit, HostModel? model)
    {
        var shaker = rig.Shaker!;
        var stimulus = StimulusBuilder.Build(item.Scenario, item.Folder, rig.Device.Input, item.Seed);
        int axis = stimulus.ChannelNames.ToList().IndexOf(shaker.Axis.Channel);
        if (axis < 0) { throw new BadInputException([new(item.Document.Path, 0, 0, $"a table along {shaker.Axis} for a device without {shaker.Axis.Channel}", "an axis of the device's input")]); }
        double[] G(int channel) => [.. stimulus.Counts[channel].Skip(stimulus.LeadSamples).Select(n => n * stimulus.UnitsPerCount[channel])];
        double[] along = [.. G(axis).Select(g => g * shaker.Axis.Sign)];
        var built = MotionBuilder.Build(along, stimulus.Rate, shaker.Envelope, shaker.Stream!.Rate, fit);
        if (built.Outside is { } why)
        {
            double room = MotionBuilder.Room(built.Motion, shaker.Envelope);
            throw new BadInputException([new(item.Document.Path, 0, 0, $"a motion that rig {rig.Name}'s table must not make: {why}", room < 1 ? FormattableString.Invariant($"at most {room:0.###} of it, or fewer of its low frequencies") : "a motion inside the envelope",
                fit == MotionFit.None ? "ask for it: --fit scale makes it smaller, --fit filter leaves its lowest frequencies out; what that loses is said before anything moves" : "play it by injection")]);
        }
        var loss = MotionLoss.Of(built.WantedG, built.ToldG, stimulus.Rate, built.FromHz, built.ToHz);
        LostAxis[] others = [.. stimulus.ChannelNames.Select((name, c) => (name, c)).Where(o => o.c != axis && o.name[0] == 'a').Select(o => new LostAxis(o.name, Spread(G(o.c))))];
        var made = new TableItem(shaker, stimulus, along, built, fit, loss, others, model?.Path, []);
        return model is null ? made : made with { Trials = made.Seen(model) };
    }

    /// <summary>For a run's folder.</summary>
    public TableRecord Record(double? late, double? gain, bool equalised, string? fault) => new(
        Shaker.Axis.ToString(), Fit.ToString().ToLowerInvariant(), Built.FromHz, Built.ToHz, Built.Scale, Begins.TotalSeconds, Shaker.Stream!.Rate.Hertz, late, gain, equalised, Loss, Others, Model, Trials, fault);

    /// <summary>What the device is to feel, from the run's time 0 on: at rest, what the table makes, and at rest.</summary>
    public Recording Felt(string name)
    {
        int count = (int)Stimulus.Rate.SamplesBefore(new(Listen.Ticks * 100));
        return new()
        {
            Name = name, Rate = Stimulus.Rate, ChannelNames = Stimulus.ChannelNames, Channels = FeltFrom(-Begins.TotalSeconds, count),
            Info = new() { Rate = Stimulus.Rate, Invented = Stimulus.Sources.Any(s => s.Info.Invented) },
        };
    }

    /// <summary>[channel][sample] at the device's rate.</summary>
    /// <param name="from">Of the first sample, in s of the motion's time.</param>
    private double[][] FeltFrom(double from, int count)
    {
        double[] told = Built.Motion.ToldG();
        return [.. Stimulus.ChannelNames.Select(name =>
        {
            double up = name == Shaker.Up.Channel ? Shaker.Up.Sign : 0, sign = name == Shaker.Axis.Channel ? Shaker.Axis.Sign : 0;
            var felt = new double[count];
            for (int n = 0; n < count; n++) { felt[n] = up + (sign == 0 ? 0 : sign * Built.Motion.ToldAt(told, from + n / Stimulus.Rate.Hertz)); }
            return felt;
        })];
    }

    private List<TableTrial> Seen(HostModel model)
    {
        double[][] felt = FeltFrom(-Stimulus.LeadSamples / Stimulus.Rate.Hertz, Stimulus.SampleCount);
        var onTable = Stimulus with { Counts = [.. felt.Select((channel, c) => channel.Select(g => (int)Math.Round(g / Stimulus.UnitsPerCount[c])).ToArray())] };
        var (injected, moved) = (States(model, Stimulus), States(model, onTable));
        return [.. Stimulus.Reference.Where(r => !model.Events.Contains(r.Class)).Select((r, i) => new TableTrial(i + 1, r.Class, MostOf(injected, r), MostOf(moved, r)))];
    }

    private static List<Decision> States(HostModel model, Stimulus stimulus) => [.. model.Decide(stimulus).Where(d => !model.Events.Contains(d.Class))];

    /// <summary>The class that holds for most of a trial; null: none is said.</summary>
    private static string? MostOf(List<Decision> decisions, ReferenceInterval trial)
    {
        var held = new Dictionary<string, long>();
        for (int i = 0; i < decisions.Count; i++)
        {
            long from = Math.Max(decisions[i].Time.Ns, trial.Start.Ns), to = Math.Min(i + 1 < decisions.Count ? decisions[i + 1].Time.Ns : long.MaxValue, trial.End.Ns);
            if (to > from) { held[decisions[i].Class] = held.GetValueOrDefault(decisions[i].Class) + to - from; }
        }
        return held.Count == 0 ? null : held.MaxBy(h => h.Value).Key;
    }

    private static double Spread(double[] g)
    {
        double mean = g.Average();
        return MotionLoss.Rms([.. g.Select(x => x - mean)]);
    }

    private StimulusTime Shifted(StimulusTime t) => t + Begins.Ticks * 100;
}
