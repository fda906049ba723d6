using HilRunner.Core.Runs;

namespace HilRunner.Cli.Runs;

/// <summary>
/// Whether the program that a stored run's rig names as its adapter may be started. A stored run is data: no program starts
/// because it says so, but only because the person said so for this call, or gave that very rig for it.
/// </summary>
internal sealed class AdapterLeave
{
    private readonly HashSet<string> _rigTexts;

    private AdapterLeave(bool asked, IEnumerable<string> rigTexts) =>
        (Asked, _rigTexts) = (asked, rigTexts.ToHashSet(StringComparer.Ordinal));

    /// <summary>--run-adapter: it is started, also where its messages were kept.</summary>
    public bool Asked { get; }

    public static AdapterLeave None { get; } = new(false, []);

    public static AdapterLeave Of(bool asked) => asked ? new(true, []) : None;

    /// <summary>For the runs of rigs that this call names: the text in run.yaml is the same as theirs.</summary>
    public static AdapterLeave For(IEnumerable<SourceDocument> rigs) => new(false, rigs.Select(r => r.Text));

    public bool Allows(RunManifest run) => Asked || _rigTexts.Contains(run.Rig.Text);
}
