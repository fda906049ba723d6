using System.CommandLine;
using HilRunner.Application.Benches;
using HilRunner.Application.Tables;
using HilRunner.Core.Links;
using HilRunner.Core.Numerics;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;
using HilRunner.Engine.Checking;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Reviewing;
using HilRunner.Engine.Shaking;

namespace HilRunner.Cli.Commands;

/// <summary>Is this rig healthy, and can its link and format carry the rate?</summary>
internal static class CheckCommand
{
    private static readonly Argument<string> s_rig = new("rig") { Description = "The rig file." };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's." };
    private static readonly Option<bool> s_offline = new("--offline") { Description = "Work out what can be worked out; do not open the port (opening resets many boards)." };

    public static Command Create()
    {
        var command = new Command(
            "check",
            """
            Says whether a rig is healthy: its file, its link, the device's answers, and whether link and
            format can carry the rate. Plays nothing.

            Example:
              hil check rigs/virtual.yaml
            """)
        { s_rig, s_link, s_offline };
        command.SetAction(parsed => Run(parsed));
        return command;
    }

    private static int Run(ParseResult parsed)
    {
        var rig = RigFiles.Read(parsed.GetValue(s_rig)!, parsed.GetValue(s_link));
        using var format = Composition.Context.Formats.Create(rig.Device);
        Say("rig", $"{rig.Name}: the file is in order");
        Say("link", LinkNames.Of(rig.Device.Link));
        bool fits = rig.Device.Hears.Sample is null || Fits(rig, format);
        bool healthy = fits;
        bool heard = false;
        if (!parsed.GetValue(s_offline))
        {
            try { healthy &= Talk(rig, format, out heard); }
            catch (LinkException fault)
            {
                Say("device", fault.Message);
                Console.Out.WriteLine("not healthy");
                return ExitCodes.Error;
            }
        }
        if (rig.Shaker is { } shaker)
        {
            Say("table",
                FormattableString.Invariant($"moves along {shaker.Axis}: {shaker.Envelope.FromHz:0.##} Hz to {shaker.Envelope.ToHz:0.##} Hz, at most {shaker.Envelope.PeakG:0.##} g, {shaker.Envelope.Velocity:0.###} m/s, {shaker.Envelope.Displacement * 1000:0.##} mm either side (which limits below {SineMotion.CrossOverHz(shaker.Envelope.Displacement, shaker.Envelope.PeakG * Gravity.Standard):0.##} Hz); {(shaker.Watchdog is { } dog ? FormattableString.Invariant($"stops by itself after {dog.TotalMilliseconds:0} ms of silence") : "does not stop by itself: it is not driven unless somebody stands by it")}"));
            if (!parsed.GetValue(s_offline)) { healthy &= TalkToTable(shaker); }
            foreach (string caution in TableCautions.All) { Say("caution", caution); }
        }
        Say("caution", "injected motion can make a device act (radio, alarm, actuator): disconnect or disarm what must not act");
        Console.Out.WriteLine(
            !healthy ? "not healthy"
            : heard ? "healthy"
            : parsed.GetValue(s_offline) ? "in order, as far as can be said without opening the port"
            : "in order, as far as can be said: no word from the device was heard");
        return healthy ? ExitCodes.Pass : ExitCodes.Inconclusive;
    }

    /// <summary>Asks the table's controller who and how it is. Moves nothing, arms nothing.</summary>
    private static bool TalkToTable(Shaker shaker)
    {
        try
        {
            using var held = RigLock.Take(Composition.Context, shaker.Link, "the table");
            using var session = new ShakerSession(shaker, Composition.Context.Links.Open, Composition.Clock, _ => { });
            string identity = session.Identify();
            var status = session.Status();
            Say("", FormattableString.Invariant($"says {identity}; it is {Known(status)}, and measures {status.PeakG:0.000} g"));
            return status.State == TableState.Resting;
        }
        catch (Exception fault) when (fault is ShakerException or LinkException)
        {
            Say("", fault.Message);
            return false;
        }
    }

    /// <summary>Its own word, and what that means where it is not the same.</summary>
    private static string Known(ShakerStatus status)
    {
        string meaning = status.State.ToString().ToLowerInvariant();
        return status.Word == meaning ? meaning : $"{meaning} (it says {status.Word})";
    }

    private static bool Fits(Rig rig, Core.Messages.IDeviceFormat format)
    {
        var budget = LinkBudget.Of(rig.Device, format);
        string load = budget.Load is { } share
            ? FormattableString.Invariant($", {share:0 %} of what the link carries (at most {LinkBudget.MostLoad:0 %})")
            : ", on a link without a fixed speed";
        Say("rate", FormattableString.Invariant(
            $"{rig.Device.Input.Rate} in frames of up to {budget.FrameBytes} bytes: {budget.NeededBytesPerSecond:0} bytes/s{load}"));
        if (!budget.Fits)
        {
            Say("", "too much for this link: raise the baud rate, send several samples in a message, or use a binary framing");
        }
        return budget.Fits;
    }

    private static bool Talk(Rig rig, Core.Messages.IDeviceFormat format, out bool heard)
    {
        heard = false;
        var folder = Directory.CreateTempSubdirectory("hil-check-");
        try
        {
            string path = Path.Combine(folder.FullName, RunFiles.Capture);
            string trouble = "";
            RigTalk? talk = null;
            try { talk = RigCheck.Talk(rig, Composition.Context.Links, format, Composition.Context.Captures, Composition.Clock,
                path); }
            catch (RunEndedException fault) { trouble = fault.Message; }
            var manifest = new RunManifest
            {
                Id = "check",
                Started = default,
                ToolVersion = Composition.Context.Version,
                Host = "",
                Scenario = new("", "", ""),
                Rig = new("", "", ""),
                ScenarioName = "",
                RigName = rig.Name,
                Link = "",
                Speed = Speeds.Max,
                Rate = rig.Device.Input.Rate,
                Samples = 0,
                LeadSamples = 0,
                Channels = [],
            };
            using var capture = Composition.Context.Captures.Open(path);
            RunEvidence evidence = CaptureReview.Read(rig, manifest, [], format, capture);
            heard = evidence.Understood > 0;
            Say("device", trouble.Length > 0 ? trouble
                : rig.Device.Identity is null ? $"the link opens; messages understood: {evidence.Understood} (this rig asks no identity)"
                : string.Join(", ", evidence.Identity.Where(i => i.Value.Length > 0).Select(i => $"{i.Key} {i.Value}")));
            if (evidence.Timing.LeastDelayNs is { } delay)
            {
                Say("clock", FormattableString.Invariant($"answers within {delay / 1e6:0.###} ms: known to ±{delay / 2e6:0.###} ms"));
            }
            else if (rig.Device.Clock is not null && trouble.Length == 0) { Say("clock", "no answer: latencies will be by sample number or arrival"); }
            bool whole = talk is null || SayTalk(rig, talk);
            return trouble.Length == 0 && whole;
        }
        finally { folder.Delete(recursive: true); }
    }

    /// <summary>What talking to the device showed of opening, of its counters and of the link.</summary>
    /// <returns>False: the link surely loses more than the rig's health allows.</returns>
    private static bool SayTalk(Rig rig, RigTalk talk)
    {
        if (talk.AfterOpening.Banner is { } banner)
        {
            Say("opening",
                FormattableString.Invariant(
                    $"the device starts {banner.TotalSeconds:0.0} s after the port is opened: opening resets it. Add to the rig file, under device:"));
            Say("", FormattableString.Invariant(
                $"  on_open: {{wait: {Math.Ceiling(banner.TotalSeconds) + 1:0} s, until: booted}}"));
        }
        else if (talk.AfterOpening.Spoke && rig.Device.Says.Booted is null)
        {
            Say("opening",
                "the device says something after the port is opened: if that is its start, describe it as device.says.booted, and add device.on_open: {wait: 3 s, until: booted}");
        }
        if (rig.Device.Says.Counters is not null)
        {
            Say("counters", talk.Counters
                ? "answered: a run can show that everything arrived" : "no answer: delivery will not be shown by them");
        }
        if (talk.Loss is { } loss)
        {
            Say("loss", FormattableString.Invariant(
                $"{loss.Answered} of {loss.Asked} {loss.What} questions answered: at most {Math.Ceiling(loss.AtMost * 1000) / 10:0.0} % are lost there and back (95 %)"));
        }
        else { Say("loss", "not measured: nothing can be asked; describe device.clock, device.identity or device.says.counters"); }
        // A question that is never answered is described wrongly, or the device does not know it.
        if (talk.Loss is not { Answered: > 0 } lossy || lossy.AtLeast <= rig.Health.LostShare) { return true; }
        Say("", FormattableString.Invariant(
            $"at least {lossy.AtLeast * 100:0.0} % are lost, more than health.lost_share ({rig.Health.LostShare * 100:0.##} %): runs on this rig prove nothing; look at cable, plugs and speed"));
        return false;
    }

    private static void Say(string what, string text) => Console.Out.WriteLine($"{what,-8} {text}");
}
