using System.Globalization;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Reporting;

/// <summary>A case in words, the same on the screen, on the page and in the file.</summary>
public static class CaseWords
{
    public static string Of(Culprit culprit) => culprit switch
    {
        Culprit.Rig => "rig fault",
        Culprit.NotReproduced => "not reproduced",
        Culprit.Firmware => "firmware fault",
        Culprit.Input => "input fault",
        Culprit.Model => "model fault",
        _ => "device fault",
    };

    /// <summary>What that means, for somebody who has not read the documents.</summary>
    public static string Meaning(Culprit culprit) => culprit switch
    {
        Culprit.Rig => "No play says anything of the device: its rig spoiled them.",
        Culprit.NotReproduced => "The device does not show it when the logged motion is played to it.",
        Culprit.Firmware => "The device differs from its own model on the very same samples.",
        Culprit.Input => "The device says what its model says; the motion is unlike the class that was expected, or was recorded wrongly.",
        Culprit.Model => "The device does what its model says, and the model is wrong about this motion.",
        _ => "The device shows it. Without its model on the host, model and firmware cannot be told apart.",
    };

    /// <summary>"9 of 10 plays (95 %: 0.55 to 1.00)".</summary>
    public static string Share(Case item)
    {
        ArgumentNullException.ThrowIfNull(item);
        if (item.Played == 0) { return "no play that counts"; }
        string interval = item.ShareInterval is { } i ? string.Create(CultureInfo.InvariantCulture, $" (95 %: {i.Low:0.00} to {i.High:0.00})") : "";
        return string.Create(CultureInfo.InvariantCulture, $"{item.Shown} of {item.Played} {(item.Played == 1 ? "play" : "plays")}{interval}");
    }

    public static string Seconds(double s) => s.ToString(s < 10 ? "0.00' s'" : "0.0' s'", CultureInfo.InvariantCulture);
}
