/** The kernel's sign in Jupyter: a levelled base, an axis raised to the pole, the pole's star. */
export const KERNEL_LOGO = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64" width="64" height="64">
<title>Polewright</title>
<rect width="64" height="64" rx="10" fill="#14213d"/>
<path d="M10 52h44" stroke="#e5e5e5" stroke-width="4" stroke-linecap="round"/>
<path d="M16 52L44 20" stroke="#fca311" stroke-width="5" stroke-linecap="round"/>
<path d="M31 52a15 15 0 0 0-5-11.300" fill="none" stroke="#e5e5e5" stroke-width="2.500"/>
<circle cx="51" cy="12" r="4.500" fill="#ffffff"/>
</svg>
`;
