using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;

namespace HilRunner.Application.Playing;

/// <summary>How fast samples are played into a rig's device.</summary>
internal static class PlaySpeed
{
    /// <summary>
    /// Where the speed is left open: max if the device gives credit or sets the pace itself, else real. What cannot be carried
    /// out or scored is refused here.
    /// </summary>
    public static string For(IOperator person, Rig rig, string asked, Batch batch)
    {
        if (batch.Items.Any(i => i.ByHand is not null))
        {
            if (!person.IsThere)
            {
                throw new UsageException("a scenario made of prompts tells a person how to move the device and takes their keys: it needs a terminal, and cannot run unattended");
            }
            if (asked is not ("" or Speeds.Real)) { throw new UsageException($"--speed {asked}: a scenario made of prompts is moved by hand, in real time: leave --speed out"); }
            if (batch.Items.All(i => i.ByHand is not null)) { return Speeds.Real; }
        }
        bool takes = rig.Device.Says.Credit is not null || rig.Device.Pace == Pace.Device;
        string speed = asked.Length > 0 ? asked : takes ? Speeds.Max : Speeds.Real;
        decimal? factor;
        try { factor = Speeds.Factor(speed); }
        catch (FormatException fault) { throw new UsageException($"--speed: {fault.Message}"); }
        if (factor is null && !takes)
        {
            throw new UsageException("--speed max needs a device that gives credit (says.credit in the rig file) or sets the pace itself (pace: device): use real or a factor such as 4x");
        }
        if (factor is not null && rig.Device.Pace != Pace.Host)
        {
            throw new UsageException($"--speed {speed}: this rig says pace: {rig.Device.Pace.ToString().ToLowerInvariant()}, so the host cannot set one: use max, or pace: host");
        }
        if ((factor is null or > 1) && rig.Device.Says.Decisions.Any(d => !RigFormats.GivesSampleNumber(d.Message)))
        {
            throw new UsageException($"--speed {speed}: faster than real time needs decisions with a sample number (group or field n): use --speed real");
        }
        return speed;
    }
}
