using HilRunner.Core;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Device;

/// <summary>The link of a rig, with the virtual device among what it may lead to.</summary>
public static class RigLink
{
    /// <summary>Opens every kind of link.</summary>
    public static ILinkOpener Opener(HostClock clock) => new LinkOpener(clock, spec => BuiltinLink.Open(spec, clock));

    /// <summary>The rig with another link in place of its own, where one is given.</summary>
    /// <param name="link">Null: its own.</param>
    /// <exception cref="BadInputException">The model of a virtual device is absent or faulty.</exception>
    public static Rig Replaced(Rig rig, LinkSpec? link)
    {
        if (link is not null) { rig = rig with { Device = rig.Device with { Link = link } }; }
        // A model that cannot be used is found before anything is opened.
        if (rig.Device.Link is BuiltinLinkSpec builtin) { BuiltinLink.Check(builtin); }
        return rig;
    }
}
