namespace HilRunner.Scoring.Isolating;

/// <summary>Whose fault a complaint is.</summary>
public enum Culprit
{
    /// <summary>No play says anything of the device: its rig spoiled every one.</summary>
    Rig,
    NotReproduced,
    /// <summary>The device differs from the host model on the same samples.</summary>
    Firmware,
    /// <summary>Device and host model agree, and the motion is unlike the class it is said to be, or was recorded wrongly.</summary>
    Input,
    /// <summary>Device and host model are wrong in the same way.</summary>
    Model,
    /// <summary>It reproduces, and no host model says whether model or firmware is at fault.</summary>
    Device,
}

/// <summary>One play of the complaint, on a rig that was in order.</summary>
/// <param name="Shown">The device shows the complaint.</param>
/// <param name="Said">What it said where the complaint is; "" where it said nothing.</param>
/// <param name="HostShown">Whether the host model shows it on the very same samples; null: there is none.</param>
/// <param name="HostSaid">Likewise; null: there is no host model, or none that could tell.</param>
public sealed record PlayedComplaint(bool Shown, string Said, bool? HostShown, string? HostSaid);

/// <summary>From plays to a culprit.</summary>
public static class Attribution
{
    /// <param name="plays">Those that say something of the device.</param>
    /// <param name="spoiled">Those that its rig spoiled.</param>
    /// <param name="inputWrong">Something speaks against the motion, or against the class that is expected of it.</param>
    public static Culprit Of(IReadOnlyList<PlayedComplaint> plays, int spoiled, bool inputWrong)
    {
        ArgumentNullException.ThrowIfNull(plays);
        if (plays.Count == 0) { return spoiled > 0 ? Culprit.Rig : Culprit.NotReproduced; }
        var shown = plays.Where(p => p.Shown).ToList();
        if (shown.Count == 0) { return Culprit.NotReproduced; }
        var judged = shown.Where(p => p.HostShown is not null).ToList();
        if (judged.Count == 0) { return inputWrong ? Culprit.Input : Culprit.Device; }
        // A play in which the host model does not say what the device says is one that the model has no part in.
        if (judged.Any(p => p.HostShown == false || p.HostSaid != p.Said)) { return Culprit.Firmware; }
        return inputWrong ? Culprit.Input : Culprit.Model;
    }
}
