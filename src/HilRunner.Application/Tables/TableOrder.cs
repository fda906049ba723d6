using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.HostModels;
using HilRunner.Core;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Core.Shakers;

namespace HilRunner.Application.Tables;

/// <summary>That a batch is to be played by the rig's table, and how.</summary>
/// <param name="InterlockAnswers">Nobody is asked: an interlock answers.</param>
/// <param name="Moves">False: it is only said what the table would make.</param>
/// <param name="Model">The host's model file; null: the virtual device's, where the rig has one.</param>
internal sealed record TableOrder(bool Moves, bool InterlockAnswers, MotionFit Fit, string? Model)
{
    /// <summary>The option that says so, as messages name it.</summary>
    public const string InterlockOption = "--interlock-answers";

    /// <summary>What the table makes of each scenario: everything that can be refused is refused here, before it is spoken to.</summary>
    /// <exception cref="UsageException">The command line asks for what cannot be.</exception>
    /// <exception cref="BadInputException">A motion is outside the envelope, or a file is faulty.</exception>
    public Batch On(IOperator person, Batch batch, IReadOnlyList<PlayedRig> rigs, string speed)
    {
        if (rigs.Count > 1) { throw new UsageException("--shaker: one table is moved at a time: give one --rig"); }
        Rig rig = rigs[0].Rig;
        TableBench.Check(person, rig, Moves ? InterlockAnswers : null, speed);
        if (rig.Shaker!.Stream is null) { throw new UsageException($"--shaker: rig {rig.Name}'s table knows sines alone (shaker.stream is not described): it plays sweeps, with hil sweep, and no recordings"); }
        if (batch.Items.Any(i => i.ByHand is not null)) { throw new UsageException("--shaker: a scenario made of prompts is moved by hand"); }
        string? path = Model ?? (rig.Device.Link is BuiltinLinkSpec builtin ? builtin.Options.Model : null);
        var outputs = rig.Device.Outputs;
        var model = path is null ? null : HostModel.Read(path, rig, outputs[0]);
        var made = new Dictionary<(string, Variation?, ulong), TableItem>();
        var faults = new List<Fault>();
        foreach (var item in batch.Items.Where(i => !made.ContainsKey(KeyOf(i))))
        {
            try { made[KeyOf(item)] = TableItem.Of(item, rig, Fit, model); }
            catch (BadInputException refused) { faults.AddRange(refused.Faults); }
        }
        if (faults.Count > 0) { throw new BadInputException([.. faults.Distinct()]); }
        return batch with { Items = [.. batch.Items.Select(i => i with { OnTable = made[KeyOf(i)] })] };
    }

    /// <summary>Noise and order differ by seed.</summary>
    private static (string, Variation?, ulong) KeyOf(BatchItem item) => (item.Document.Sha256, item.Variation, item.Seed);
}
