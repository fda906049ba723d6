using HilRunner.Core.Runs;

namespace HilRunner.Application.Stored;

/// <summary>
/// Whether the program that a stored run's rig names as its adapter may be started. A stored run is data: no program starts
/// because it says so, but only because the person said so for this call, or gave that very rig for it.
/// </summary>
internal sealed class AdapterLeave
{
    private readonly IReadOnlyList<SourceDocument> _rigs;

    private AdapterLeave(bool asked, IReadOnlyList<SourceDocument> rigs) => (Asked, _rigs) = (asked, rigs);

    /// <summary>--run-adapter: it is started, also where its messages were kept.</summary>
    public bool Asked { get; }

    public static AdapterLeave None { get; } = new(false, []);

    public static AdapterLeave Of(bool asked) => asked ? new(true, []) : None;

    /// <summary>For the runs of rigs that this call names: the text in run.yaml is the same as theirs.</summary>
    public static AdapterLeave For(IEnumerable<SourceDocument> rigs) => new(false, [.. rigs]);

    public bool Allows(RunManifest run) => Asked || Given(run) is not null;

    /// <summary>
    /// The rig file of this call that has the run's text; null: none. The programs that it names stand beside this file: where
    /// run.yaml says that it stood is data.
    /// </summary>
    public SourceDocument? Given(RunManifest run) => _rigs.FirstOrDefault(r => r.Text == run.Rig.Text);
}
